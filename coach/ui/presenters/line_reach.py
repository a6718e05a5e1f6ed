"""How far a line of a section is written: to its end, or with bars after it that are still empty."""

from coach.notation import Line
from coach.practice.piece_state import PieceState, SectionState
from coach.ui.presenters.piece_view import bar_onsets


def reaches_end(piece: PieceState, section: SectionState, line: Line, *, phrase: bool) -> bool:
    """Whether the section is written through; what was sung in one go may end before its last beat."""
    if not len(line) or bars_left(piece, section, line):
        return False
    return phrase or section.end - line.notes[-1].end < piece.meter.beat


def bars_left(piece: PieceState, section: SectionState, line: Line) -> int:
    """How many bars at the end of the section have no note yet."""
    last = line.notes[-1].end if len(line) else section.onset
    return sum(onset >= last for onset in bar_onsets(piece, section)[:-1])


def left_words(bars: int) -> str:
    """Said before a line with empty bars is called good enough."""
    empty = "The last bar has no note yet." if bars == 1 else f"The last {bars} bars have no notes yet."
    return f"{empty} Find them first, or keep the line as it is."
