"""The workbench: hear and hum, find it on the neck, place it, ask whether it is the one."""

from collections.abc import Callable
from fractions import Fraction

from typing_extensions import override

from coach.errors import DeviceError
from coach.hearing.notes.events import NoteBegan, NoteCorrected, NoteEnded, NoteWithdrawn
from coach.music.naming import Naming
from coach.notation import LineKind
from coach.pieces.capture import Feel
from coach.sessions.listener import Hearing, Listener
from coach.sessions.piece.beat_desk import BeatDesk
from coach.sessions.piece.check_desk import CheckDesk
from coach.sessions.piece.material import grid_of
from coach.sessions.piece.recalled import events_of
from coach.sessions.piece.reference import reference_of
from coach.sessions.ports import Jobs, UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.drawn import Loop, Tile
from coach.ui.presenters.levels import ListenerLevel
from coach.ui.presenters.line_reach import bars_left, left_words, reaches_end
from coach.ui.presenters.nearness import HEARD_S, held_midi, near_words
from coach.ui.presenters.note_work import NoteWork
from coach.ui.presenters.piece_view import SCREEN_WORD, neck_of_note, tiles_of
from coach.ui.presenters.view import Empty, Ready
from coach.ui.presenters.workbench_shows import (
    LIKELY_WORDS,
    OCTAVE_WORDS,
    keys_shown,
    likely_shown,
    sentence_of,
    slots_of,
    sound_shown,
    strip_shown,
)
from coach.ui.presenters.workbench_sound import SoundingPresenter
from coach.ui.presenters.workbench_view import ACTIONS, Step, WorkbenchView, stage_of

REST_S = 0.4
"""A note after less rest goes on from the one before: a voice that finds its pitch (our own choice)."""


class WorkbenchPresenter(SoundingPresenter):
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
        super().__init__(room, section, kind, later, jobs, go)
        self._tiles: tuple[Tile, ...] = ()
        self._leave: Callable[[], None] = _nothing
        self._likely_open = self._checks_all = self._as_it_is = self._left = False
        self._ended_s = float("-inf")
        self.ear: Listener | None = None
        self.levels: ListenerLevel | None = None

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
        asking = self._work.asking
        asking.checks = CheckDesk(
            self._room.journal,
            recording,
            model,
            self._section,
            reference_of(self._room.services, self._piece.piece),
        )
        log = self._room.services.read_log()
        try:
            asking.recall(events_of(log, self._piece))
        finally:
            log.close()
        if self._kind is LineKind.BASS:
            self._work.changes = asking.checks.bass_changes(jobs)
        audio, piece = recording.audio, self._piece
        self._tiles = tiles_of(piece, self._desk.state, grid_of(piece), audio.mono, audio.rate_hz)

    def _opened(self) -> None:
        if self._left:
            return  # the page was closed meanwhile: another one has the ear now
        slots = slots_of(self._piece, self._desk.state, self._desk.line, self._work.changes)
        if slots:
            self._work.choose(slots[0])
        else:
            self._work.go_to_the_end()
        self._sound.loop = Loop(0, len(self._tiles) - 1)
        self._listen()
        self._refresh()

    def _listen(self) -> None:
        try:
            studio = self._room.studio()
        except DeviceError:
            self.ear = self.levels = None  # the neck can still be tapped
            return
        self.ear, self.levels = studio.listener, ListenerLevel(studio.listener)
        self._ended_s = float("-inf")
        self._leave()
        studio.listener.attend("any")
        self._leave = studio.listener.subscribe(self._heard)

    @override
    def closed(self) -> None:
        self._left = True
        self.cancel()
        self._phrase.cancel()
        self._leave()
        self._sound.stop()

    # --- what the screen asks for -------------------------------------------------------------------------

    @override
    def _act(self) -> None:
        """Place the note in question, ask about it, or play and stop the loop."""
        match self._stage:
            case _ if self._phrase.busy:
                self.end_phrase()
            case Step.FIND | Step.PLACE:
                self.work(NoteWork.write)
            case Step.ASK:
                self.work(NoteWork.check)
            case Step.ASK_ALL:
                self.check_all()
            case Step.ENOUGH:
                self.settle()
            case _:
                self.play_or_stop()

    def work(self, change: Callable[[NoteWork], None]) -> None:
        """Do something with the note in question, and show what came of it."""
        self._just_written = self._checks_all = self._as_it_is = False
        before = self._desk.line
        self._doing(lambda: change(self._work))
        if self._desk.line != before:
            self._sound.line_changed()

    def tap(self, string: int, fret: int) -> None:
        """A place on the neck was tapped."""
        self.work(lambda note: note.tap(string, fret))

    @override
    def choose(self, kind: LineKind, onset: Fraction) -> None:
        """A place on the strip was tapped."""
        if kind is self._kind:
            self.work(lambda note: note.choose(onset))

    def settle(self) -> None:
        """Call the line good enough for now and go on, or change a settled one again."""
        self._doing(self._desk.reopen if self._desk.settled else self._settle)

    def _settle(self) -> None:
        """Bars that are still empty are named once: a slip of the finger must not end a line."""
        left = bars_left(self._piece, self._desk.state, self._desk.line)
        if left and not self._as_it_is and not self._piece.free(self._section):
            self._as_it_is, self._work.said = True, left_words(left)
            return
        self._desk.settle(self._work.asking.open_questions)
        if self._kind is LineKind.MELODY and self._piece.key is None:
            self._go("fit", section=self._section)
        elif self._kind is LineKind.MELODY:
            self._go("workbench", section=self._section, line=LineKind.BASS.value)
        else:
            self._go("together", section=self._section)

    def letter(self, letter: str) -> None:
        """A letter key: the note of that name nearest to the last one; German B and H as the player reads."""
        german = self._settings.naming is Naming.GERMAN
        naming = Naming.GERMAN if german else Naming.ENGLISH
        self.work(lambda note: note.type_note(letter, naming))

    def check_all(self) -> None:
        """Ask about every note, one at each `look_up`: marks come one by one, and nothing waits."""
        self._checks_all = True

    def _check_next(self) -> None:
        self._checks_all = self._work.check_next()

    def show_likely(self) -> None:
        """Show or fold away which bass notes the key makes likely."""
        self._likely_open = not self._likely_open
        self._work.said = LIKELY_WORDS if self._likely_open else ""
        self._refresh()

    def divide(self, feel: Feel) -> None:
        """Divide the beats another way."""
        self._doing(lambda: BeatDesk(self._room.journal).feel(feel.value))

    @property
    def a4_hz(self) -> float:
        """The tuning that note numbers refer to."""
        return self._settings.a4_hz

    def nearness(self) -> str:
        """How near the player's own note is, in words of their note; asked by the screen now and then."""
        if self.ear is None:
            return ""
        frames = self.ear.frames_since(self.ear.heard_s - HEARD_S)
        return near_words(held_midi(frames, self._settings.a4_hz), self._work.names.of)

    def _heard(self, hearing: Hearing) -> None:
        """On the listening thread: the last note the player began is the one in question."""
        for event in hearing.chunk.events:
            match event:
                case NoteEnded(note):
                    self._ended_s = note.span.end_s
                case NoteBegan(start_s=start_s, midi=midi):
                    rested = start_s - self._ended_s >= REST_S
                    self._take(NoteWork.hear if rested else NoteWork.go_on, midi)
                case NoteCorrected(midi=midi):
                    self._take(NoteWork.correct, midi)
                case NoteWithdrawn():
                    self._change(NoteWork.unhear)

    def _take(self, change: Callable[[NoteWork, int], None], midi: int) -> None:
        self._change(lambda note: change(note, midi))

    def _change(self, change: Callable[[NoteWork], None]) -> None:
        if not self._phrase.busy:
            self._later.later(lambda: self.work(change))

    # --- what goes on by itself -----------------------------------------------------------------------

    def look_up(self) -> None:
        """Notice that a phrase is over, or the loudspeaker gone; the screen asks now and then."""
        self._notice_device()
        if self._checks_all:
            self._checks_all = False  # whatever goes wrong with one ends it
            self._doing(self._check_next)
        if self._phrase.over:
            self.end_phrase()
        elif self._phrase.turned():
            self._refresh()

    # --- the view -----------------------------------------------------------------------------------------

    @override
    def _refresh(self) -> None:
        self._show(Ready(self._ready()))

    @property
    def _stage(self) -> Step:
        work, desk = self._work, self._desk
        return stage_of(
            settled=desk.settled,
            candidate=work.candidate is not None,
            hummed=work.hummed is not None,
            note=work.note is not None,
            asked=work.asked,
            full=reaches_end(self._piece, desk.state, desk.line, phrase=self._just_written),
            others=work.asking.unasked(work.note),
            unheard=work.asking.open_questions,
        )

    def _second(self, stage: Step) -> str:
        """Words of the quieter button: the line is good enough, or to be changed again."""
        if self._desk.settled:
            return "Change it again"
        if not len(self._desk.line) or stage is Step.ENOUGH or self._phrase.busy:
            return ""
        return "Keep it as it is" if self._as_it_is else "Good enough for now"

    def _ready(self) -> WorkbenchView:
        piece, work, state, stage = self._piece, self._work, self._desk.state, self._stage
        note, settled, any_notes = work.note, self._desk.settled, len(self._desk.line) > 0
        action = ACTIONS[stage] or ("Stop" if self._sound.playing else "Listen")
        unheard = work.asking.open_questions
        marked = 0 if work.asking.unasked() else unheard
        sentence = sentence_of(stage, self._kind, self._settings, unheard, marked)
        midi, place = work.shown
        return WorkbenchView(
            title=f"Section {self._section}: the {SCREEN_WORD[self._kind]}",
            kind=self._kind,
            sentence=self._phrase.sentence or sentence,
            step=stage,
            tiles=self._tiles,
            loop=self._sound.loop,
            strip=strip_shown(piece, state, work, self._settings),
            neck=neck_of_note(midi, self._kind, piece, self._settings, place),
            keys=keys_shown(work),
            chosen=work.chosen,
            grid=work.grid,
            feel=None if piece.without_beats else work.feel,
            free=work.free,
            long=note.long if note is not None else None,
            said=f"{work.said} {OCTAVE_WORDS}" if self._just_written else work.said,
            action="Write it down" if self._phrase.busy else action,
            second=self._second(stage),
            hint=work.asking.button(note),
            confirming=work.asking.confirming,
            sound=sound_shown(self._sound),
            listens=self.ear is not None,
            phrase=self._phrase.busy,
            just_written=self._just_written,
            likely=likely_shown(piece, work, opened=self._likely_open),
            syllable=note.syllable or "" if note is not None else "",
            can_undo=self._desk.can_undo and not settled,
            can_redo=self._desk.can_redo and not settled,
            has_note=note is not None or work.candidate is not None,
            any_notes=any_notes,
            settled=settled,
        )

    @override
    def _say(self, words: str) -> None:
        self._work.said = words


def _nothing() -> None:
    """Before there is anything to leave."""
