"""The two-line map as a value: one column a section, rows melody, bass, played."""

from dataclasses import dataclass

from coach.practice.piece_state import Cell, PieceState, SectionState


@dataclass(frozen=True, slots=True)
class MapColumn:
    """One section: its name, the cells of its rows, and whether it is the one to work on next."""

    name: str
    melody: Cell = Cell.EMPTY
    bass: Cell = Cell.EMPTY
    played: Cell = Cell.EMPTY
    following: bool = False


@dataclass(frozen=True, slots=True)
class MapView:
    """All columns, in order; none before the piece is cut into sections."""

    columns: tuple[MapColumn, ...] = ()


NO_MAP = MapView()


def map_of(piece: PieceState) -> MapView:
    """The map of a piece as the log tells it."""
    following = piece.next_section
    return MapView(tuple(_column(section, following=section is following) for section in piece.sections))


def _column(section: SectionState, *, following: bool) -> MapColumn:
    return MapColumn(section.name, section.melody.cell, section.bass.cell, section.played, following)
