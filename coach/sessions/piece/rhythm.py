"""From order, long and short to beats: written once both lines of a section without beats are there."""

from collections.abc import Sequence
from fractions import Fraction

from coach.music import BeatGrid
from coach.notation import LineKind
from coach.pieces.free_time import simple_rhythm
from coach.practice.events import RhythmMade
from coach.practice.piece_state import Cell, PieceState
from coach.sessions.piece.material import grid_of, line_of, record_of, section_of


def rhythm_made(piece: PieceState, name: str) -> RhythmMade | None:
    """The rhythm of a section whose lines are both settled; ``None`` where it has beats or one is open."""
    section = section_of(piece, name)
    settled = section.melody.cell is Cell.SETTLED and section.bass.cell is Cell.SETTLED
    if not settled or not piece.free(name):
        return None
    melody, bass = (line_of(piece, name, kind) for kind in (LineKind.MELODY, LineKind.BASS))
    made = simple_rhythm(melody, bass, section.onset, piece.meter)
    grid = _bent(grid_of(piece), (section.onset, section.end), made.end, made.anchors)
    return RhythmMade(
        piece.piece,
        name,
        tuple(map(record_of, made.melody)),
        tuple(map(record_of, made.bass)),
        made.end,
        grid.quarters,
        grid.seconds,
    )


def _bent(
    grid: BeatGrid,
    span: tuple[Fraction, Fraction],
    end: Fraction,
    anchors: Sequence[tuple[Fraction, Fraction]],
) -> BeatGrid:
    """The grid with one stretch of it bent so that each anchor lies where it lay in the recording.

    Parameters
    ----------
    span
        From and to of the stretch as it was.
    end
        Where it ends now; what follows moves along.
    anchors
        Pairs of its new and old musical times.
    """
    start, before = span
    places = {q: s for q, s in zip(grid.quarters, grid.seconds, strict=True) if q < start}
    places |= {start: grid.second_of(start), end: grid.second_of(before)}
    places |= {new: grid.second_of(old) for new, old in anchors}
    behind = zip(grid.quarters, grid.seconds, strict=True)
    places |= {q + end - before: s for q, s in behind if q > before}
    places.setdefault(end + 1, grid.second_of(before + 1))
    kept: list[tuple[Fraction, float]] = []
    for quarter, second in sorted(places.items()):
        if not kept or second > kept[-1][1]:
            kept.append((quarter, second))
    return BeatGrid(tuple(quarter for quarter, _ in kept), tuple(second for _, second in kept))
