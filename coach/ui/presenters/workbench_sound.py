"""The workbench's sounds: the loop, the written line beside it, and the phrase that is sung or played."""

from abc import ABC, abstractmethod
from fractions import Fraction

from coach.notation import LineKind
from coach.sessions.piece.line_desk import LineDesk
from coach.sessions.piece.material import grid_of
from coach.sessions.ports import Emphasis, UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.tones.prompt import PromptNote
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.device_watch import NO_SOUND
from coach.ui.presenters.drawn import Loop
from coach.ui.presenters.loop_beats import LoopBeats, beats_of
from coach.ui.presenters.loop_control import LoopControl
from coach.ui.presenters.note_work import NoteWork
from coach.ui.presenters.phrase_control import PhraseControl
from coach.ui.presenters.piece_page import PiecePagePresenter
from coach.ui.presenters.piece_view import bar_onsets, shift_of
from coach.ui.presenters.workbench_shows import APART_WORDS, line_heard, notes_beside, written_words
from coach.ui.presenters.workbench_view import WorkbenchView

LINE_GAIN_DB = -6.0
"""The app's own sound starts quiet."""


class SoundingPresenter(PiecePagePresenter[WorkbenchView], ABC):
    """One line of one section, as it is heard, sung and played.

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
        opening, failure = "Opening the recording", "The recording could not be opened."
        super().__init__(room, section, later, jobs, go, opening=opening, failure=failure)
        self._kind = kind
        self._desk = LineDesk(room.journal, section, kind)
        self._work = NoteWork(room.journal, self._desk, self._settings)
        emphasis = Emphasis.BASS if kind is LineKind.BASS else Emphasis.MELODY
        self._sound = LoopControl(
            room.player,
            self._span,
            shift_of(room.journal.progress.piece),
            emphasis,
            beats=self._beats,
            beside=self._beside,
            volume_db=self._settings.volume_db,
        )
        self._phrase = PhraseControl(room, self._sound)
        self._just_written = False

    # --- sound and phrases --------------------------------------------------------------------------------

    def _notice_device(self) -> None:
        """Say that the loudspeaker went away, or that it is back."""
        words = self._sound.device_words()
        if words is not None:
            self._work.said = words
            self._refresh()

    def play_or_stop(self) -> None:
        """Start or stop the loop."""
        if not self._sound.can_sound:
            self._work.said = NO_SOUND
        self._doing(self._sound.play_or_stop)

    def hold_or_release(self) -> None:
        """Let the moment that is heard now sound on, or go on from it."""
        self._doing(self._sound.hold_or_release)

    def change_sound(
        self, *, loop: Loop | None = None, speed: float | None = None, emphasis: Emphasis | None = None
    ) -> None:
        """Loop other bars, go slower or faster, make another line louder."""
        self._doing(lambda: self._sound.change(loop=loop, speed=speed, emphasis=emphasis))
        if loop is not None:
            self._come_along(loop)

    @abstractmethod
    def choose(self, kind: LineKind, onset: Fraction) -> None:
        """Work at another place."""

    def _come_along(self, loop: Loop) -> None:
        """Work where it sounds: outside of the loop's bars the place goes to the first of them."""
        onsets = bar_onsets(self._piece, self._desk.state)
        if not onsets[loop.first] <= self._work.chosen < onsets[loop.last + 1]:
            self.choose(self._kind, onsets[loop.first])

    def beat(self, *, click: bool | None = None, count_in: bool | None = None) -> None:
        """Let the beats click, or a bar be counted in."""
        self._doing(lambda: self._sound.beat(click=click, count_in=count_in))

    def to_beats(self) -> None:
        """Put the beats right one by one; the way leads back here."""
        self._go("beat", section=self._section, line=self._kind.value)

    def hear_line(self) -> None:
        """Hear the line as it is written, alone, at the loop's speed; the app plays it."""
        self._doing(self._play_line)

    def _play_line(self) -> None:
        output, line = self._room.loudspeaker(), self._desk.line
        self._sound.stop()
        if output is None or not len(line):
            return
        sound = line_heard(self._piece, self._desk.state, line, self._sound, output.rate_hz)
        gain_db = min(LINE_GAIN_DB, self._sound.volume_db)
        output.play(sound, output.rate_hz, gain_db=gain_db)

    def hear_both(self) -> None:
        """Hear the recording on the left and the line as it is written on the right; or no longer."""
        self._doing(self._turn_both)

    def _turn_both(self) -> None:
        apart = not self._sound.apart
        self._sound.set_apart(on=apart)
        self._work.said = APART_WORDS if apart else ""
        if apart and not self._sound.playing:
            self.play_or_stop()

    def _beside(self) -> tuple[PromptNote, ...]:
        return notes_beside(self._piece, self._desk.line)

    def begin_phrase(self) -> None:
        """Sing or play the loop's bars: along with it (headphones), or right after it (loudspeaker)."""
        self._sound.set_apart(on=False)
        self._doing(lambda: self._phrase.begin(self._span(self._sound.loop)))

    def end_phrase(self) -> None:
        """Write what was sung or played down."""
        self._doing(self._write_phrase)

    def leave_phrase(self) -> None:
        """Take no phrase after all."""
        self._doing(self._phrase.cancel)

    def _write_phrase(self) -> None:
        heard = self._phrase.end(self._piece, self._kind, self._section)
        state = self._desk.state
        notes = [note for note in heard if state.onset <= note.onset < state.end]
        if notes:
            self._desk.write(notes, by="played")
            self._work.choose(notes[0].onset)
        self._just_written = bool(notes)
        self._work.said = written_words(len(notes), len(heard) - len(notes), self._section)

    def _span(self, loop: Loop) -> tuple[float, float]:
        onsets, grid = bar_onsets(self._piece, self._desk.state), grid_of(self._piece)
        return grid.second_of(onsets[loop.first]), grid.second_of(onsets[loop.last + 1])

    def _beats(self, loop: Loop) -> LoopBeats:
        return beats_of(self._piece, self._desk.state, loop)

    @property
    def position(self) -> Fraction | None:
        """Where the recording is now, in quarters; ``None`` when it stands."""
        at_s = self._phrase.position_s if self._phrase.busy else self._sound.position_s
        if at_s is None:
            return None
        quarter = Fraction(grid_of(self._piece).quarter_of(at_s)).limit_denominator(96)
        return max(quarter, self._desk.state.onset)
