"""The last resort: bass notes that meet or cross the tune go an octave away from it.

Where two lines share a register, no change of the usual kind may be enough: a bass note in unison with the
tune cannot be raised without the tune. Then notes are moved one by one, at the price of any single bass note,
each time the one that stands in the way first, and all that turn out needless are put back. What is found so
can be played, but nothing proves it the least.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from coach.fretboard import Wishes
from coach.fretboard.least import Fits, Least, least_price
from coach.fretboard.score import Score
from coach.music.pitch import MIDI_RANGE
from coach.notation.arrangement import Arrangement
from coach.notation.line import Line, LineKind

MOST_MOVED = 16
"""So many notes may be moved; a piece that needs more is another piece. From no source."""
_OCTAVES = (-1, 1, -2, 2, -3)
"""The nearest first: of two that lead equally far, the first is taken."""

Moved = tuple[tuple[int, int], ...]
"""Index of a bass note, and the octaves by which it is moved."""


@dataclass(frozen=True, slots=True)
class Rescue:
    """Looks for notes to be moved on one neck.

    Parameters
    ----------
    fits, wishes
        The neck, and what the player wants kept.
    score_of
        The score with some notes moved; ``None`` where one of them would be no MIDI note.
    """

    fits: Fits
    wishes: Wishes
    score_of: Callable[[Moved], Score | None]

    def find(self) -> tuple[Moved, Fraction] | None:
        """The notes to be moved, and the price of what else is changed; ``None`` if that is not enough."""
        now = self._trial(())
        while now is not None and now.least.price is None:
            now = self._further(now) if len(now.moved) < MOST_MOVED else None
        if now is None:
            return None
        for move in now.moved:
            fewer = self._trial(tuple(other for other in now.moved if other != move))
            if fewer is not None and fewer.least.price is not None:
                now = fewer
        return now.moved, now.least.price or Fraction(0)

    def _further(self, now: "_Trial") -> "_Trial | None":
        """The move of a note that sounds where it is stuck, and that leads furthest beyond."""
        trials = (
            self._trial((*now.moved, (index, octaves))) for index in now.in_the_way() for octaves in _OCTAVES
        )
        further = [trial for trial in trials if trial is not None and trial.reached > now.reached]
        return max(further, key=lambda trial: trial.reached, default=None)

    def _trial(self, moved: Moved) -> "_Trial | None":
        score = self.score_of(tuple(sorted(moved)))
        return None if score is None else _Trial(moved, score, least_price(score, self.fits, self.wishes))


@dataclass(frozen=True, slots=True)
class _Trial:
    """What became of some moves."""

    moved: Moved
    score: Score
    least: Least

    @property
    def reached(self) -> Fraction:
        """How far one can play."""
        last = self.score.moments[-1].time
        return last + 1 if self.least.stuck is None else self.score.moments[self.least.stuck].time

    def in_the_way(self) -> list[int]:
        """Bass notes that sound where it is stuck, and were not moved yet."""
        if self.least.stuck is None:
            return []
        tones = self.score.moments[self.least.stuck].tones
        names = [name for tone in tones for name in self.score.tones[tone].notes]
        done = {index for index, _ in self.moved}
        return [name.index for name in names if name.line is LineKind.BASS and name.index not in done]


def with_moved(arrangement: Arrangement, moved: Moved) -> Arrangement:
    """The arrangement with some bass notes so many octaves higher or lower."""
    notes = list(arrangement.bass)
    for index, octaves in moved:
        note = notes[index]
        notes[index] = replace(note, pitch=note.pitch.octaves_higher(octaves), place=None)
    return arrangement.with_line(Line(LineKind.BASS, tuple(notes)))


def may_move(arrangement: Arrangement, moved: Moved) -> bool:
    """Whether every bass note stays a MIDI note."""
    notes = arrangement.bass.notes
    return all(MIDI_RANGE[0] <= notes[index].midi + 12 * by <= MIDI_RANGE[1] for index, by in moved)
