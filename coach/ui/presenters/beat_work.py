"""The beats in hand while they are put right: which one is chosen, what was changed, the way back."""

from dataclasses import dataclass
from fractions import Fraction

from coach.music import Meter
from coach.pieces.beat_marks import READINGS, BeatMarks, nearest

STEP_S = 0.02
"""A small step: about the least that is heard as early or late against a click (from memory)."""


@dataclass(frozen=True, slots=True)
class _State:
    """What undo brings back: ``marks`` are ``base`` counted ``reading`` times as often."""

    marks: BeatMarks
    base: BeatMarks
    reading: Fraction
    chosen: int


class BeatWork:
    """Marks of the beats, one of them chosen, with undo and redo.

    Parameters
    ----------
    marks
        As they were found or written.
    """

    def __init__(self, marks: BeatMarks) -> None:
        self._state = _State(marks, marks, Fraction(1), marks.one)
        self._past: list[_State] = []
        self._undone: list[_State] = []

    @property
    def marks(self) -> BeatMarks:
        """The beats of now."""
        return self._state.marks

    @property
    def chosen(self) -> int:
        """Index of the beat in question."""
        return self._state.chosen

    @property
    def reading(self) -> Fraction:
        """How many times as often is counted as at first."""
        return self._state.reading

    @property
    def readings(self) -> tuple[tuple[Fraction, float], ...]:
        """The readings there may be, each with its beats a minute."""
        found = ((times, self._state.base.read(times)) for times in READINGS)
        return tuple((times, read.tempo_bpm) for times, read in found if read is not None)

    @property
    def changed(self) -> bool:
        """Whether anything is different from the beginning."""
        return bool(self._past)

    @property
    def can_undo(self) -> bool:
        """Whether there is something to take back."""
        return bool(self._past)

    @property
    def can_redo(self) -> bool:
        """Whether something was taken back."""
        return bool(self._undone)

    # --- choosing -----------------------------------------------------------------------------------------

    def choose(self, index: int) -> None:
        """Take another beat."""
        index = min(max(index, 0), len(self.marks.seconds) - 1)
        self._state = _State(self._state.marks, self._state.base, self._state.reading, index)

    def step(self, by: int) -> None:
        """Go along the beats."""
        self.choose(self.chosen + by)

    def begin_at(self, one: int) -> None:
        """The ONE to begin with, before anything is changed."""
        if not self.changed and one < len(self.marks.seconds):
            marks = self.marks.with_one(one)
            self._state = _State(marks, marks, Fraction(1), one)

    # --- changing -----------------------------------------------------------------------------------------

    def shift(self, steps: int) -> None:
        """The chosen beat so many small steps later (or earlier)."""
        self._change(self.marks.moved(self.chosen, steps * STEP_S), self.chosen)

    def add(self) -> None:
        """A beat between the chosen one and the next; it is chosen then."""
        self._change(self.marks.added(self.chosen), self.chosen + 1)

    def take_away(self) -> None:
        """The chosen beat goes."""
        self._change(self.marks.removed(self.chosen), self.chosen)

    def one_here(self) -> None:
        """The piece's first full bar begins at the chosen beat."""
        self._change(self.marks.with_one(self.chosen), self.chosen)

    def one_by(self, by: int) -> None:
        """The ONE so many beats later."""
        one = min(max(self.marks.one + by, 0), len(self.marks.seconds) - 1)
        self._change(self.marks.with_one(one), one)

    def read(self, times: Fraction) -> None:
        """Count another number of times to each beat of before."""
        base = self._state.base
        read = base.read(times)
        if read is None or times == self.reading:
            return
        self._remember()
        chosen = nearest(read.seconds, self.marks.seconds[self.chosen])
        self._state = _State(read, base, times, chosen)

    def undo(self) -> None:
        """Take the last change back; harmless where there is none."""
        if self._past:
            self._undone.append(self._state)
            self._state = self._past.pop()

    def redo(self) -> None:
        """Make the change again that was taken back."""
        if self._undone:
            self._past.append(self._state)
            self._state = self._undone.pop()

    def _change(self, marks: BeatMarks, chosen: int) -> None:
        if marks == self.marks:
            return
        self._remember()
        self._state = _State(marks, marks, Fraction(1), min(chosen, len(marks.seconds) - 1))

    def _remember(self) -> None:
        self._past.append(self._state)
        self._undone.clear()

    # --- bars ---------------------------------------------------------------------------------------------

    def bar_of(self, index: int, meter: Meter) -> int:
        """Number of the bar that holds a beat: 1 begins with the ONE, 0 and less come before it."""
        return (index - self.marks.one) // meter.beats + 1

    def first_of(self, bar: int, meter: Meter) -> int:
        """Index of a bar's first beat, which may lie outside of the marks."""
        return self.marks.one + (bar - 1) * meter.beats

    def bar_span(self, bar: int, meter: Meter, *, bars: int = 1) -> tuple[float, float]:
        """From and to in seconds of some bars, as far as there are beats."""
        times, first = self.marks.seconds, self.first_of(bar, meter)
        last = first + bars * meter.beats
        gap_s = times[-1] - times[-2]
        to_s = times[last] if last < len(times) else times[-1] + gap_s
        return times[min(max(first, 0), len(times) - 1)], to_s
