"""Where the hand is: a bar under its four frets, and the whole neck small, with what is in sight."""

from kivy.graphics import Line, RoundedRectangle, SmoothLine
from kivy.metrics import dp

from coach.ui.drawing import note_shape, paint
from coach.ui.widgets.neck_marks import Board

HAND_FRETS = 4
"""One fret for each finger (common practice, no source)."""


def add_hand(neck: Board) -> None:
    """Draw a bar under the frets that the hand lies over."""
    hand = neck.view.hand
    if hand is None:
        return
    last = min(hand + HAND_FRETS - 1, neck.view.frets)
    ends = sorted((neck.along(max(hand - 1, neck.first)), neck.along(last)))
    left, right = max(ends[0], neck.x), min(ends[1], neck.right)
    if right <= left:
        return
    low = neck.y + neck.foot - dp(7)
    neck.drawn.add(paint(neck.look.theme.action))
    neck.drawn.add(RoundedRectangle(pos=(left, low), size=(right - left, dp(5)), radius=[dp(2.5)]))


def add_overview(neck: Board, high: float) -> None:
    """Draw the whole neck as a line, the part in sight as a frame, the notes and the hand on it."""
    group, theme, look = neck.drawn, neck.look.theme, neck.look
    room, frets = neck.width - dp(4), neck.view.frets

    def x(fret: float) -> float:
        along = dp(2) + room * fret / frets
        return float(neck.right - along if look.left_handed else neck.x + along)

    y = neck.y + high / 2
    group.add(paint(theme.outline))
    group.add(Line(points=[x(0), y, x(frets), y], width=dp(0.8), cap="none"))
    ends = sorted((x(neck.first), x(min(neck.first + neck.frets_shown, frets))))
    frame = (ends[0], neck.y + dp(1), ends[1] - ends[0], high - dp(3), dp(4))
    group.add(SmoothLine(rounded_rectangle=frame, width=dp(1)))
    if neck.view.hand is not None:
        ends = sorted((x(neck.view.hand - 1), x(min(neck.view.hand + HAND_FRETS - 1, frets))))
        group.add(paint(theme.action))
        group.add(RoundedRectangle(pos=(ends[0], y - dp(1.5)), size=(ends[1] - ends[0], dp(3)), radius=[1]))
    for note in neck.view.notes:
        if note.fret > 0:
            colour = theme.colours()[note.kind.value]
            note_shape(group, note.kind, (x(note.fret - 0.5), y), dp(5), colour=colour)
