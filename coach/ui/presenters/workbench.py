"""The workbench: hear and hum, find it on the neck, place it, ask whether it is the one."""

from collections.abc import Callable
from fractions import Fraction

from typing_extensions import override

from coach.errors import CoachError, DeviceError
from coach.hearing.events import NoteBegan
from coach.music import Pitch
from coach.notation import LineKind, Note, Place
from coach.pieces.hints import Hint
from coach.pieces.verdicts import Outcome, Verdict
from coach.practice.piece_state import PieceState
from coach.sessions.listener import Hearing
from coach.sessions.piece.check_desk import CheckDesk
from coach.sessions.piece.line_desk import LineDesk
from coach.sessions.piece.material import grid_of
from coach.sessions.ports import Emphasis, Jobs, UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.sessions.recordings import AnalysedRecording
from coach.ui.context import Go
from coach.ui.presenters.drawn import Loop, Tile
from coach.ui.presenters.jobs import Job, JobRunner
from coach.ui.presenters.loop_control import LoopControl
from coach.ui.presenters.piece_view import (
    SCREEN_WORD,
    bar_onsets,
    name_of,
    neck_of_note,
    shift_of,
    strip_of,
    tiles_of,
)
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Failed, Missing, Ready, Working
from coach.ui.presenters.workbench_view import ACTIONS, HINT_WORDS, SENTENCES, WorkbenchView, stage_of

HALF = Fraction(1, 2)


class WorkbenchPresenter(Presenter[WorkbenchView]):
    """One line of one section.

    Parameters
    ----------
    room
        Journal, recording, studio, player.
    section, kind
        What is worked on.
    """

    def __init__(
        self, room: PracticeRoom, section: str, kind: LineKind, later: UiCalls, jobs: JobRunner, go: Go
    ) -> None:
        super().__init__(later, Working("Opening the recording", None))
        self._room, self._section, self._kind, self._go, self._jobs = room, section, kind, go, jobs
        self._settings = room.services.current_settings()
        self._desk = LineDesk(room.journal, section, kind)
        self._recording: AnalysedRecording | None = None
        self._checks: CheckDesk | None = None
        self._verdicts: dict[tuple[LineKind, Fraction], Verdict] = {}
        self._candidate: int | None = None
        self._place: tuple[int, int] | None = None
        self._chosen = Fraction(0)
        emphasis = Emphasis.BASS if kind is LineKind.BASS else Emphasis.MELODY
        self._sound = LoopControl(room.player, self._span, shift_of(room.journal.progress.piece), emphasis)
        self._tiles: tuple[Tile, ...] = ()
        self._said = ""
        self._job: Job | None = None
        self._leave: Callable[[], None] = _nothing
        self._listens = False

    # --- opening and leaving ------------------------------------------------------------------------------

    @override
    def opened(self) -> None:
        piece = self._room.journal.progress.piece
        if piece is None or piece.section(self._section) is None:
            self._show(Empty("There is no section to work on yet.", "Choose a piece"))
            return
        self._job = self._jobs.start(
            self._open, done=lambda _: self._opened(), failed=self._failed, progress=self._working
        )

    def _open(self, jobs: Jobs) -> None:
        self._recording = self._room.recording(jobs)
        model = self._room.services.evidence_model()
        self._checks = CheckDesk(self._room.journal, self._recording, model, self._section)
        audio, piece = self._recording.audio, self._piece
        self._tiles = tiles_of(piece, self._desk.state, grid_of(piece), audio.mono, audio.rate_hz)

    def _opened(self) -> None:
        state = self._desk.state
        notes = self._desk.line.notes
        self._chosen = notes[-1].end if notes and notes[-1].end < state.end else state.onset
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
        self._leave()
        self._sound.stop()

    @override
    def cancel(self) -> None:
        if self._job is not None:
            self._job.cancel()

    def _working(self, share: float, what: str) -> None:
        self._show(Working(what, share))

    def _failed(self, error: CoachError) -> None:
        self._show(Failed("The recording could not be opened.", error.message))

    # --- the one action -----------------------------------------------------------------------------------

    @override
    def act(self) -> None:
        """Place the note in question, ask about it, or play and stop the loop."""
        match self._view:
            case Empty():
                self._go("choose")
            case Failed() | Missing():
                self.opened()
            case _:
                self._guarded(self._act)

    def _act(self) -> None:
        note = self._note
        if self._candidate is not None:
            self.place()
        elif note is not None and (self._kind, note.onset) not in self._verdicts:
            self.check()
        else:
            self.play_or_stop()

    def place(self) -> None:
        """Write the note in question at the chosen place."""
        midi = self._candidate
        if midi is None:
            return
        at = Place(*self._place) if self._place else None
        note = self._desk.place(self._chosen, self._length, midi, at=at)
        self._verdicts.pop((self._kind, note.onset), None)
        self._candidate, self._said = None, ""
        self._refresh()

    def check(self) -> None:
        """Ask the recording about the note at the chosen place."""
        note, checks = self._note, self._checks
        if note is None or checks is None:
            return
        verdict = checks.check(self._kind, note.onset, note.duration, note.midi)
        self._verdicts[self._kind, note.onset] = verdict
        self._said = verdict.sentence
        if verdict.outcome is Outcome.HEARD and note.end < self._desk.state.end:
            self._chosen = note.end
        self._refresh()

    def take_hint(self) -> None:
        """Take the next step of the ladder for the note at the chosen place; noted, never a cost."""
        self._guarded(self._hint)

    def _hint(self) -> None:
        note, checks = self._note, self._checks
        if note is None or checks is None:
            return
        self._said = self._hint_words(checks.hint(self._kind, note.onset, note.duration, note.midi))
        self._refresh()

    def _hint_words(self, hint: Hint) -> str:
        if hint.midi is not None:
            return f"It is {name_of(hint.midi, self._piece, self._settings.naming)}."
        if hint.within_a_tone is not None:
            return "It lies within two frets." if hint.within_a_tone else "It is further than two frets away."
        if hint.direction is not None:
            return f"It is {hint.direction.value} in sound."
        return "This recording does not tell."

    # --- finding a note -----------------------------------------------------------------------------------

    def _heard(self, hearing: Hearing) -> None:
        """On the listening thread: the last note the player began is the one in question."""
        began = [event.midi for event in hearing.chunk.events if isinstance(event, NoteBegan)]
        if began:
            self._later.later(lambda: self._propose(began[-1], None, heard=True))

    def tap(self, string: int, fret: int) -> None:
        """A place on the neck was tapped: its note is the one in question."""
        capo = self._piece.key.capo if self._piece.key else 0
        self._propose(self._settings.tuning[6 - string] + capo + fret, (string, fret), heard=False)

    def type_note(self, text: str) -> None:
        """A note's name was typed."""
        self._guarded(lambda: self._propose(Pitch.parse(text).midi, None, heard=False))

    def _propose(self, midi: int, place: tuple[int, int] | None, *, heard: bool) -> None:
        if self._desk.settled:
            return
        self._candidate, self._place = midi, place
        name = name_of(midi, self._piece, self._settings.naming)
        self._said = f"I heard you: {name}." if heard else f"{name}."
        self._refresh()

    # --- the strip ----------------------------------------------------------------------------------------

    def choose(self, kind: LineKind, onset: Fraction) -> None:
        """Work at another place."""
        if kind is not self._kind:
            return
        note = self._desk.line.at(onset)
        self._chosen = note.onset if note is not None else onset
        verdict = self._verdicts.get((self._kind, self._chosen))
        self._candidate, self._said = None, verdict.sentence if verdict else ""
        self._refresh()

    def step(self, by: int) -> None:
        """Go on or back by half a beat, or by a note where there is one."""
        state = self._desk.state
        wanted = self._chosen + by * self._piece.meter.beat * HALF
        self.choose(self._kind, min(max(wanted, state.onset), state.end - HALF))

    def lengthen(self, by: Fraction) -> None:
        """Make the note at the chosen place longer or shorter."""
        note = self._note
        if note is not None and note.duration + by > 0:
            self._change(lambda: self._desk.place(note.onset, note.duration + by, note.midi))

    def octave(self, by: int) -> None:
        """Put the note at the chosen place an octave higher or lower."""
        note = self._note
        if note is not None:
            self._change(lambda: self._desk.octave(note, by))

    def remove(self) -> None:
        """Take the note at the chosen place out."""
        note = self._note
        if note is not None:
            self._change(lambda: self._desk.remove(note))

    def undo(self) -> None:
        """Take the last change back."""
        self._change(self._desk.undo)

    def redo(self) -> None:
        """Do again what was taken back."""
        self._change(self._desk.redo)

    def _change(self, change: Callable[[], object]) -> None:
        """Change the line; what was answered about this place counts no more."""
        self._verdicts.pop((self._kind, self._chosen), None)
        self._said = ""
        self._guarded(change)
        self._refresh()

    # --- settling -----------------------------------------------------------------------------------------

    def settle(self) -> None:
        """Call the line good enough for now and go on, or change a settled one again."""
        self._guarded(self._reopen if self._desk.settled else self._settle)

    def _settle(self) -> None:
        heard = [v for v in self._verdicts.values() if v.outcome is Outcome.HEARD]
        self._desk.settle(max(0, len(self._desk.line) - len(heard)))
        if self._kind is LineKind.MELODY and self._piece.key is None:
            self._go("fit", section=self._section)
        elif self._kind is LineKind.MELODY:
            self._go("workbench", section=self._section, line=LineKind.BASS.value)
        else:
            self._go("together", section=self._section)

    def _reopen(self) -> None:
        self._desk.reopen()
        self._refresh()

    # --- sound --------------------------------------------------------------------------------------------

    def play_or_stop(self) -> None:
        """Start or stop the loop."""
        if not self._sound.can_sound:
            self._said = "There is no loudspeaker: look at “coach doctor”."
        self._guarded(self._sound.play_or_stop)
        self._refresh()

    def hold_or_release(self) -> None:
        """Let the moment that is heard now sound on, or go on from it."""
        self._guarded(self._sound.hold_or_release)
        self._refresh()

    def change_sound(
        self, *, loop: Loop | None = None, speed: float | None = None, emphasis: Emphasis | None = None
    ) -> None:
        """Loop other bars, go slower or faster, make another line louder."""
        self._guarded(lambda: self._sound.change(loop=loop, speed=speed, emphasis=emphasis))
        self._refresh()

    def _span(self, loop: Loop) -> tuple[float, float]:
        onsets, grid = bar_onsets(self._piece, self._desk.state), grid_of(self._piece)
        return grid.second_of(onsets[loop.first]), grid.second_of(onsets[loop.last + 1])

    # --- the view -----------------------------------------------------------------------------------------

    @property
    def position(self) -> Fraction | None:
        """Where the recording sounds now, in quarters; ``None`` when it does not."""
        at_s = self._sound.position_s
        if at_s is None:
            return None
        return Fraction(grid_of(self._piece).quarter_of(at_s)).limit_denominator(96)

    def _refresh(self) -> None:
        piece, state, line = self._piece, self._desk.state, self._desk.line
        note, settled = self._note, self._desk.settled
        sounding = self._candidate if self._candidate is not None else (note.midi if note else None)
        place = self._place or ((note.place.string, note.place.fret) if note and note.place else None)
        chosen = (self._kind, self._chosen)
        asked = chosen in self._verdicts
        candidate = self._candidate is not None
        stage = stage_of(settled=settled, candidate=candidate, note=note is not None, asked=asked)
        self._show(
            Ready(
                WorkbenchView(
                    title=f"Section {self._section}: the {SCREEN_WORD[self._kind]}",
                    kind=self._kind,
                    sentence=SENTENCES[stage],
                    tiles=self._tiles,
                    loop=self._sound.loop,
                    strip=strip_of(piece, state, (line,), self._settings.naming, self._verdicts, chosen),
                    neck=neck_of_note(sounding, self._kind, piece, self._settings, place),
                    chosen=self._chosen,
                    said=self._said,
                    action=ACTIONS[stage] or ("Stop" if self._sound.playing else "Listen"),
                    second="" if not len(line) else "Change it again" if settled else "Good enough for now",
                    hint=self._hint_button(note) if asked else None,
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
            )
        )

    def _hint_button(self, note: Note | None) -> str | None:
        verdict = self._verdicts.get((self._kind, self._chosen))
        if note is None or self._checks is None or verdict is None or verdict.outcome is Outcome.HEARD:
            return None
        step = self._checks.next_step(self._kind, note.onset)
        return HINT_WORDS[step] if step is not None else None

    def _guarded(self, work: Callable[[], object]) -> None:
        try:
            work()
        except CoachError as error:
            self._said = error.message
            self._refresh()

    @property
    def _piece(self) -> PieceState:
        piece = self._room.journal.progress.piece
        if piece is None:
            raise ValueError("the workbench is open without a piece")
        return piece

    @property
    def _note(self) -> Note | None:
        return self._desk.line.at(self._chosen)

    @property
    def _length(self) -> Fraction:
        """Length of a new note: a bass note lasts its bar, a melody note its beat."""
        piece = self._piece
        if self._kind is LineKind.BASS:
            into = (self._chosen - piece.pickup) % piece.meter.bar
            return piece.meter.bar - into
        return piece.meter.beat


def _nothing() -> None:
    """Before there is anything to leave."""
