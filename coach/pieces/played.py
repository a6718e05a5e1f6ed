"""A graded take: what became of every note."""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from coach.notation.line import LineKind
from coach.pieces.tempo_line import TempoLine


class Result(StrEnum):
    """What became of one note."""

    RIGHT = "right"
    WRONG = "wrong"
    EARLY = "early"
    LATE = "late"
    MISSING = "missing"


@dataclass(frozen=True, slots=True)
class PlayedNote:
    """One note of the arrangement as it was played.

    Parameters
    ----------
    bar
        0 is the upbeat.
    offset_s
        Against the straight line, positive when late; ``None`` when missing.
    played_midi
        What was played there; ``None`` when missing.
    """

    line: LineKind
    onset: Fraction
    midi: int
    bar: int
    result: Result
    offset_s: float | None = None
    played_midi: int | None = None


@dataclass(frozen=True, slots=True)
class ExtraNote:
    """A note that is not in the arrangement."""

    at_s: float
    midi: int


@dataclass(frozen=True, slots=True)
class PlayThrough:
    """A graded take.

    Parameters
    ----------
    line
        The straight tempo line; ``None`` where the take could not be laid beside the arrangement.
    notes
        Every note of both lines, by onset, melody first.
    """

    line: TempoLine | None
    notes: tuple[PlayedNote, ...]
    extra: tuple[ExtraNote, ...] = ()

    @property
    def right_share(self) -> float:
        """Share of right notes, 0 to 1."""
        return sum(note.result is Result.RIGHT for note in self.notes) / len(self.notes)

    @property
    def hardest_bar(self) -> int | None:
        """The bar with most notes that were not right, the first of them.

        ``None`` if all were right, or if the take could not be laid beside the arrangement.
        """
        if self.line is None:
            return None
        faults: dict[int, int] = {}
        for note in self.notes:
            if note.result is not Result.RIGHT:
                faults[note.bar] = faults.get(note.bar, 0) + 1
        return min(faults, key=lambda bar: (-faults[bar], bar), default=None)

    @property
    def bars(self) -> tuple[int, ...]:
        """Numbers of the bars that hold notes, rising."""
        return tuple(sorted({note.bar for note in self.notes}))

    def of_bar(self, bar: int) -> tuple[PlayedNote, ...]:
        """The notes of a bar."""
        return tuple(note for note in self.notes if note.bar == bar)
