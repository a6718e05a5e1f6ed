"""Notes on the neck with their fingers, their other places, and what is out of reach."""

from typing import Protocol

from kivy.graphics import InstructionGroup, RoundedRectangle, SmoothLine
from kivy.metrics import dp

from coach.notation.line import LineKind
from coach.ui.drawing import dashed, fill_round, note_shape, paint, type_px, width_of, write
from coach.ui.presenters.drawn import NeckNote, NeckView, OtherPlace
from coach.ui.theme import BODY_SP, MARK_SP, Look

NUT_DP = 56
"""Width of the nut's head, where the strings' names stand."""
BADGE_SP = 14
"""The fingers of a note, beside it."""
HELD_ALPHA = 0.3
"""A held note is paler inside its edge than a struck one."""


class Board(Protocol):
    """A neck as far as what lies on it is concerned: sizes in pixels."""

    look: Look
    view: NeckView
    drawn: InstructionGroup
    first: float
    zoom: float
    x: float
    y: float
    right: float
    width: float

    @property
    def foot(self) -> float:
        """Height of what lies below the strings."""
        ...

    @property
    def radius(self) -> float:
        """Of a note."""
        ...

    @property
    def frets_shown(self) -> int:
        """Whole frets in sight."""
        ...

    def along(self, fret: float) -> float:
        """Where a fret lies."""
        ...

    def place(self, string: int, fret: int) -> tuple[float, float]:
        """Where a finger goes."""
        ...


def add_other(neck: Board, other: OtherPlace) -> None:
    """Draw another place of a note: hollow, or hatched with the mm where it is out of reach."""
    group, theme = neck.drawn, neck.look.theme
    colour = theme.melody if other.kind is LineKind.MELODY else theme.bass
    at, r = neck.place(other.string, other.fret), _radius(neck, other.fret) * 0.86
    note_shape(group, other.kind, at, r, colour=theme.ground, alpha=0.55)
    note_shape(group, other.kind, at, r, colour=colour, filled=False, width=2.2)
    if not other.out_of_reach:
        return
    for step in (-0.5, 0.0, 0.5):
        reach = r * 0.62
        x, y = at[0] + step * r, at[1]
        points = (x - reach * 0.5, y - reach, x + reach * 0.5, y + reach)
        dashed(group, points, colour, width=dp(1.1))
    if other.too_far_mm is not None:
        _flag(neck, f"{other.too_far_mm:.0f} mm", (at[0], at[1] - r))


def add_note(neck: Board, note: NeckNote) -> None:
    """Draw a note with its name and the fingers of both hands; a held one pale, as held."""
    group, look, theme = neck.drawn, neck.look, neck.look.theme
    melody = note.kind is LineKind.MELODY
    colour, ink = (theme.melody, theme.on_melody) if melody else (theme.bass, theme.on_bass)
    (x, y), r = neck.place(note.string, note.fret), _radius(neck, note.fret)
    if note.chosen:
        note_shape(group, note.kind, (x, y), r + dp(5), colour=theme.focus)
    note_shape(group, note.kind, (x, y), r + dp(2), colour=theme.ground)
    note_shape(group, note.kind, (x, y), r, colour=colour, alpha=HELD_ALPHA if note.held else 1.0)
    if note.held:
        ink = theme.text
        note_shape(group, note.kind, (x, y), r, colour=colour, filled=False, width=3)
    px = min(type_px(look, BODY_SP) * neck.zoom, r * 0.95)
    write(group, note.name, (x, y), px=px, colour=ink, bold=True)
    badge = "" if note.finger is None else str(note.finger)
    badge += note.right_hand or ""
    badge = f"{badge} held" if note.held else badge
    if badge:
        _badge(neck, badge, (x, y + r * 0.72), r * 0.95 - dp(14), colour)


def _flag(neck: Board, words: str, at: tuple[float, float]) -> None:
    """Words on a ground of their own below a place."""
    group, theme, px = neck.drawn, neck.look.theme, type_px(neck.look, MARK_SP)
    width, height = len(words) * px * 0.56 + dp(8), px * 1.25
    y = max(neck.y + neck.foot, at[1] - height)
    group.add(paint(theme.ground, 0.9))
    group.add(RoundedRectangle(pos=(at[0] - width / 2, y), size=(width, height), radius=[dp(5)]))
    write(group, words, (at[0], y + height / 2), px=px, colour=theme.caution)


def _radius(neck: Board, fret: int) -> float:
    """Of a note at a fret: an open string's lies on the nut's head, which does not grow."""
    return neck.radius if fret else min(neck.radius, float(dp(NUT_DP)) / 2 - dp(5))


def _badge(neck: Board, words: str, at: tuple[float, float], aside: float, colour: str) -> None:
    """Fingers beside a note, on the side away from the nut, within the neck."""
    group, theme, px = neck.drawn, neck.look.theme, type_px(neck.look, BADGE_SP)
    high = px * 1.45
    wide = max(high, width_of(words, px, bold=True) + px)
    left = at[0] - aside - wide if neck.look.left_handed else at[0] + aside
    across = min(max(left, neck.x), neck.right - wide)
    pos, middle = (across, at[1] - high / 2), (across + wide / 2, at[1])
    group.add(paint(theme.ground))
    fill_round(group, pos, (wide, high), high / 2)
    group.add(paint(colour))
    group.add(SmoothLine(rounded_rectangle=(*pos, wide, high, high / 2), width=dp(1)))
    write(group, words, middle, px=px, colour=theme.text, bold=True)
