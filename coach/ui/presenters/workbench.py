"""The workbench: hear and hum, find it on the neck, place it, ask whether it is the one."""

from collections.abc import Callable
from fractions import Fraction

from typing_extensions import override

from coach.errors import DeviceError
from coach.hearing.events import NoteBegan
from coach.notation import LineKind
from coach.sessions.listener import Hearing
from coach.sessions.piece.check_desk import CheckDesk
from coach.sessions.piece.line_desk import LineDesk
from coach.sessions.piece.material import grid_of
from coach.sessions.ports import Emphasis, Jobs, UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.tones.lines import line_sound
from coach.ui.context import Go
from coach.ui.presenters.drawn import Loop, Tile
from coach.ui.presenters.jobs import JobRunner
from coach.ui.presenters.loop_control import LoopControl
from coach.ui.presenters.note_work import NoteWork
from coach.ui.presenters.phrase_control import PhraseControl
from coach.ui.presenters.piece_page import PiecePagePresenter
from coach.ui.presenters.piece_view import (
    SCREEN_WORD,
    bar_onsets,
    neck_of_note,
    shift_of,
    strip_of,
    tiles_of,
)
from coach.ui.presenters.view import Empty, Ready
from coach.ui.presenters.workbench_view import ACTIONS, SENTENCES, WorkbenchView, stage_of

LINE_GAIN_DB = -6.0
"""The app's own sound starts quiet."""


class WorkbenchPresenter(PiecePagePresenter[WorkbenchView]):
    """One line of one section.

    Parameters
    ----------
    room
        Journal, recording, studio, player.
    section, kind
        What is worked on.
    """

    way_on = "choose"

    def __init__(
        self, room: PracticeRoom, section: str, kind: LineKind, later: UiCalls, jobs: JobRunner, go: Go
    ) -> None:
        opening, failure = "Opening the recording", "The recording could not be opened."
        super().__init__(room, section, later, jobs, go, opening=opening, failure=failure)
        self._kind = kind
        self._desk = LineDesk(room.journal, section, kind)
        self._work = NoteWork(room.journal, self._desk, self._settings)
        emphasis = Emphasis.BASS if kind is LineKind.BASS else Emphasis.MELODY
        self._sound = LoopControl(room.player, self._span, shift_of(room.journal.progress.piece), emphasis)
        self._phrase = PhraseControl(room, self._sound)
        self._tiles: tuple[Tile, ...] = ()
        self._leave: Callable[[], None] = _nothing
        self._listens = False

    # --- opening and leaving ------------------------------------------------------------------------------

    @override
    def opened(self) -> None:
        if self._state is None:
            self._show(Empty("There is no section to work on yet.", "Choose a piece"))
            return
        self._start(self._open, lambda _: self._opened())

    def _open(self, jobs: Jobs) -> None:
        recording = self._room.recording(jobs)
        model = self._room.services.evidence_model()
        self._work.checks = CheckDesk(self._room.journal, recording, model, self._section)
        audio, piece = recording.audio, self._piece
        self._tiles = tiles_of(piece, self._desk.state, grid_of(piece), audio.mono, audio.rate_hz)

    def _opened(self) -> None:
        self._work.go_to_the_end()
        self._sound.loop = Loop(0, len(self._tiles) - 1)
        self._listen()
        self._refresh()

    def _listen(self) -> None:
        try:
            studio = self._room.studio()
        except DeviceError:
            self._listens = False  # the neck can still be tapped
            return
        self._listens = True
        studio.listener.attend("any")
        self._leave = studio.listener.subscribe(self._heard)

    @override
    def closed(self) -> None:
        self.cancel()
        self._phrase.cancel()
        self._leave()
        self._sound.stop()

    # --- what the screen asks for -------------------------------------------------------------------------

    @override
    def _act(self) -> None:
        """Place the note in question, ask about it, or play and stop the loop."""
        work = self._work
        if self._phrase.busy:
            self.end_phrase()
        elif work.candidate is not None:
            self.work(lambda note: note.write())
        elif work.note is not None and not work.asked and not self._desk.settled:
            self.work(lambda note: note.check())
        else:
            self.play_or_stop()

    def work(self, change: Callable[[NoteWork], None]) -> None:
        """Do something with the note in question, and show what came of it."""
        self._doing(lambda: change(self._work))

    def tap(self, string: int, fret: int) -> None:
        """A place on the neck was tapped."""
        self.work(lambda note: note.tap(string, fret))

    def choose(self, kind: LineKind, onset: Fraction) -> None:
        """A place on the strip was tapped."""
        if kind is self._kind:
            self.work(lambda note: note.choose(onset))

    def settle(self) -> None:
        """Call the line good enough for now and go on, or change a settled one again."""
        self._doing(self._desk.reopen if self._desk.settled else self._settle)

    def _settle(self) -> None:
        self._desk.settle(max(0, len(self._desk.line) - self._work.heard))
        if self._kind is LineKind.MELODY and self._piece.key is None:
            self._go("fit", section=self._section)
        elif self._kind is LineKind.MELODY:
            self._go("workbench", section=self._section, line=LineKind.BASS.value)
        else:
            self._go("together", section=self._section)

    def _heard(self, hearing: Hearing) -> None:
        """On the listening thread: the last note the player began is the one in question."""
        began = [event.midi for event in hearing.chunk.events if isinstance(event, NoteBegan)]
        if began and not self._phrase.busy:
            self._later.later(lambda: self.work(lambda note: note.propose(began[-1], heard=True)))

    # --- sound and phrases --------------------------------------------------------------------------------

    def play_or_stop(self) -> None:
        """Start or stop the loop."""
        if not self._sound.can_sound:
            self._work.said = "There is no loudspeaker: look at “coach doctor”."
        self._doing(self._sound.play_or_stop)

    def hold_or_release(self) -> None:
        """Let the moment that is heard now sound on, or go on from it."""
        self._doing(self._sound.hold_or_release)

    def change_sound(
        self, *, loop: Loop | None = None, speed: float | None = None, emphasis: Emphasis | None = None
    ) -> None:
        """Loop other bars, go slower or faster, make another line louder."""
        self._doing(lambda: self._sound.change(loop=loop, speed=speed, emphasis=emphasis))

    def hear_line(self) -> None:
        """Hear the line as it is written, alone, at the loop's speed; the app plays it."""
        self._doing(self._play_line)

    def _play_line(self) -> None:
        output, line = self._room.loudspeaker(), self._desk.line
        self._sound.stop()
        if output is None or not len(line):
            return
        onsets, loop = bar_onsets(self._piece, self._desk.state), self._sound.loop
        tempo_bpm = grid_of(self._piece).tempo_bpm * self._sound.speed
        start, end = onsets[loop.first], onsets[loop.last + 1]
        sound = line_sound(line, tempo_bpm, output.rate_hz, start=start, end=end)
        output.play(sound, output.rate_hz, gain_db=LINE_GAIN_DB)

    def begin_phrase(self) -> None:
        """Sing or play the loop's bars: along with it (headphones), or right after it (loudspeaker)."""
        self._doing(lambda: self._phrase.begin(self._span(self._sound.loop)))

    def end_phrase(self) -> None:
        """Write what was sung or played down."""
        self._doing(self._write_phrase)

    def _write_phrase(self) -> None:
        notes = self._phrase.end(self._piece, self._kind)
        if notes:
            self._desk.write(notes, by="played")
            self._work.verdicts.clear()
            self._work.choose(notes[0].onset)
        self._work.said = f"I wrote {len(notes)} notes down." if notes else "I heard no note: try once more."

    def look_up(self) -> None:
        """Notice that a phrase is over; the screen asks now and then."""
        if self._phrase.over:
            self.end_phrase()
        elif self._phrase.turned():
            self._refresh()

    def _span(self, loop: Loop) -> tuple[float, float]:
        onsets, grid = bar_onsets(self._piece, self._desk.state), grid_of(self._piece)
        return grid.second_of(onsets[loop.first]), grid.second_of(onsets[loop.last + 1])

    # --- the view -----------------------------------------------------------------------------------------

    @property
    def position(self) -> Fraction | None:
        """Where the recording is now, in quarters; ``None`` when it stands."""
        at_s = self._phrase.position_s if self._phrase.busy else self._sound.position_s
        if at_s is None:
            return None
        quarter = Fraction(grid_of(self._piece).quarter_of(at_s)).limit_denominator(96)
        return max(quarter, self._desk.state.onset)

    @override
    def _refresh(self) -> None:
        self._show(Ready(self._ready()))

    def _ready(self) -> WorkbenchView:
        piece, work, line = self._piece, self._work, self._desk.line
        note, settled = work.note, self._desk.settled
        sounding = work.candidate if work.candidate is not None else (note.midi if note else None)
        place = work.place or ((note.place.string, note.place.fret) if note and note.place else None)
        chosen = (self._kind, work.chosen)
        candidate = work.candidate is not None
        stage = stage_of(settled=settled, candidate=candidate, note=note is not None, asked=work.asked)
        action = ACTIONS[stage] or ("Stop" if self._sound.playing else "Listen")
        state = self._desk.state
        return WorkbenchView(
            title=f"Section {self._section}: the {SCREEN_WORD[self._kind]}",
            kind=self._kind,
            sentence=self._phrase.sentence or SENTENCES[stage],
            tiles=self._tiles,
            loop=self._sound.loop,
            strip=strip_of(piece, state, (line,), self._settings.naming, work.verdicts, chosen),
            neck=neck_of_note(sounding, self._kind, piece, self._settings, place),
            chosen=work.chosen,
            said=work.said,
            action="Write it down" if self._phrase.busy else action,
            second="" if not len(line) else "Change it again" if settled else "Good enough for now",
            hint=work.hint_button,
            speed=self._sound.speed,
            emphasis=self._sound.emphasis,
            playing=self._sound.playing,
            holding=self._sound.holding,
            listens=self._listens,
            can_undo=self._desk.can_undo,
            can_redo=self._desk.can_redo,
            has_note=note is not None,
            settled=settled,
            reopenings_left=piece.most_reopenings - state.line(self._kind.value).reopenings,
        )

    @override
    def _say(self, words: str) -> None:
        self._work.said = words


def _nothing() -> None:
    """Before there is anything to leave."""
