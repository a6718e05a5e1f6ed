"""The line strip: found notes as named circles and squares on a beat ruler, wrapped like lines of text."""

from collections.abc import Callable
from fractions import Fraction

from kivy.clock import Clock
from kivy.graphics import (
    InstructionGroup,
    Line,
    PopMatrix,
    PushMatrix,
    Rectangle,
    RoundedRectangle,
    SmoothLine,
    Translate,
)
from kivy.metrics import dp
from kivy.uix.widget import Widget

from coach.notation.line import LineKind
from coach.ui.drawing import note_shape, paint, tick, type_px, write
from coach.ui.presenters.drawn import Answer, StripNote, StripView
from coach.ui.theme import BODY_SP, MARK_SP, Look
from coach.ui.widgets.key_cursor import StripCursor
from coach.ui.widgets.strip_layout import StripLayout, lay_out
from coach.ui.widgets.touch import Touch, travelled

BEAT_DP = 60
LANE_DP = 60
RULER_DP = 30
TAP_GRID = Fraction(1, 2)
"""Finest time a tap can mean at first, in quarters: a finger does not hit a sixteenth."""
Tapped = Callable[[LineKind, Fraction], None]


class LineStrip(Widget):
    """All bars of a section, as many in a row as the width allows.

    Parameters
    ----------
    tapped
        Called with the line and the musical time (on the eighth before it) of a tap.

    Attributes
    ----------
    most_rows
        In a low window only so many rows are shown, from that of the chosen place on; `limit` sets it.
    """

    def __init__(self, look: Look, view: StripView, tapped: Tapped | None = None) -> None:
        super().__init__(size_hint_y=None, height=dp(100))
        self.look, self.view, self.tapped, self.grid = look, view, tapped, TAP_GRID
        self.time: Fraction | None = None
        self.most_rows: int | None = None
        self._drawn, self._cursor = InstructionGroup(), SmoothLine(width=dp(1.6))
        self._shift, self._drawn_at = Translate(), (0.0, 0.0)
        self._laid: tuple[StripView, float, StripLayout] | None = None
        for instruction in (PushMatrix(), self._shift, self._drawn, PopMatrix()):
            self.canvas.add(instruction)
        self.canvas.add(paint(look.theme.focus))
        self.canvas.add(self._cursor)
        self._draw = Clock.create_trigger(self._draw_now, -1)
        self.bind(pos=self._move, size=self._draw, width=self._grow)
        self._grow()
        if tapped is not None:
            self.by_key = StripCursor(self)

    # --- geometry -----------------------------------------------------------------------------------------

    @property
    def layout(self) -> StripLayout:
        """The rows; reckoned anew when the view or the width is another one."""
        if self._laid is None or self._laid[0] is not self.view or self._laid[1] != self.width:
            self._laid = (self.view, self.width, lay_out(self.view, self.width / dp(BEAT_DP)))
        return self._laid[2]

    @property
    def bars_a_row(self) -> int:
        """As many bars as fit with beats wide enough to tap; at least one."""
        return self.layout.many

    @property
    def lane(self) -> float:
        """Height of one line in pixels."""
        return float(dp(LANE_DP)) * max(1.0, 0.5 + 0.5 * self.look.text_scale)

    @property
    def row_height(self) -> float:
        """Height of one row with its ruler in pixels."""
        return self.lane * len(self.view.kinds) + type_px(self.look, MARK_SP) + float(dp(RULER_DP))

    @property
    def radius(self) -> float:
        """Of all notes: as large as a lane, or as the closest notes of a line, allow."""
        laid = self.layout
        return min(self.lane * 0.38, 0.47 * self.width * float(laid.closest / laid.across))

    @property
    def rows(self) -> int:
        """How many rows all bars need."""
        return len(self.layout.starts)

    @property
    def rows_shown(self) -> int:
        """How many of them are shown."""
        return self.rows if self.most_rows is None else min(self.most_rows, self.rows)

    @property
    def first_row(self) -> int:
        """The first row shown: that of the chosen place, or the last from which all rows are full."""
        chosen = self.view.chosen
        row = self.layout.row_of(chosen[1]) if chosen is not None else 0
        return min(row, self.rows - self.rows_shown)

    def place(self, time: Fraction) -> tuple[float, int]:
        """Left end x of a musical time, and which of the shown rows it lies in (it may lie in none)."""
        row = self.layout.row_of(time)
        return (self.x + self.width * self.layout.share(time, row), row - self.first_row)

    def shows(self, row: int) -> bool:
        """Whether a row as `place` gives it is shown."""
        return 0 <= row < self.rows_shown

    def lane_y(self, kind: LineKind, row: int) -> float:
        """Middle of a line's lane in a row."""
        top = self.top - row * self.row_height - type_px(self.look, MARK_SP) - dp(10)
        return float(top - (self.view.kinds.index(kind) + 0.5) * self.lane)

    def _grow(self, *_: object) -> None:
        self.height = self.rows_shown * self.row_height
        self._draw()

    # --- showing ------------------------------------------------------------------------------------------

    def show(self, view: StripView) -> None:
        """Show other notes."""
        if view != self.view:
            self.view = view
            self._grow()

    def limit(self, most_rows: int | None) -> None:
        """Show at most so many rows; ``None``: all."""
        if most_rows != self.most_rows:
            self.most_rows = most_rows
            self._grow()

    def cursor(self, time: Fraction | None) -> None:
        """Show where it sounds now."""
        self.time = time
        x, row = self.place(time) if time is not None else (0.0, -1)
        points: list[float] = []
        if self.shows(row):
            top = self.top - row * self.row_height - type_px(self.look, MARK_SP)
            points = [x, top, x, top - self.lane * len(self.view.kinds) - dp(12)]
        if points != self._cursor.points:  # setting them draws the whole window again
            self._cursor.points = points

    def _move(self, *_: object) -> None:
        """At another place nothing is made anew."""
        x, top = self._drawn_at
        self._shift.xy = (round(self.x - x), round(self.top - top))
        self.cursor(self.time)

    def _draw_now(self, *_: object) -> None:
        self._drawn.clear()
        self._drawn_at = (self.x, self.top)
        self._shift.xy = (0, 0)
        for row in range(self.rows_shown):
            self._row(row)
        for kind, onset in self.view.slots:
            self._slot(kind, onset)
        self._chosen_place()
        for note in self.view.notes:
            self._note(note)
        self.cursor(self.time)

    def _row(self, row: int) -> None:
        group, theme, view = self._drawn, self.look.theme, self.view
        first = (row + self.first_row) * self.bars_a_row
        last = min(first + self.bars_a_row, len(view.bars) - 1)
        px = type_px(self.look, MARK_SP)
        top = self.top - row * self.row_height
        low = top - px - dp(10) - self.lane * len(view.kinds)
        left, right = self.place(view.bars[first])[0], self._right_of(view.bars[last], row)
        group.add(paint(theme.surface))
        group.add(
            RoundedRectangle(
                pos=(left, low), size=(right - left, self.lane * len(view.kinds)), radius=[dp(10)]
            )
        )
        group.add(paint(theme.outline))
        group.add(Rectangle(pos=(left, low - dp(6)), size=(right - left, dp(1.2))))
        for index in range(first, last):
            x = self.place(view.bars[index])[0]
            number = view.first_number + index
            write(group, str(number or "upbeat"), (x + dp(4), top), px=px, colour=theme.quiet, anchor=(0, 1))
            self._beats(view.bars[index], view.bars[index + 1], low, px)

    def _right_of(self, end: Fraction, row: int) -> float:
        first = self.view.bars[(row + self.first_row) * self.bars_a_row]
        return float(self.x + self.width * float((end - first) / self.layout.across))

    def _beats(self, start: Fraction, end: Fraction, low: float, px: float) -> None:
        group, theme, time = self._drawn, self.look.theme, start
        while time < end:
            x = self.place(time)[0]
            strong = time == start
            group.add(paint(theme.outline, 1.0 if strong else 0.45))
            top = low + self.lane * len(self.view.kinds) + (px * 0.5 if strong else 0)
            group.add(Line(points=[x, low - dp(6), x, top], width=dp(1.0 if strong else 0.6)))
            time += self.view.beat

    def _slot(self, kind: LineKind, onset: Fraction) -> None:
        """A time at which a note is to be looked for: hollow, without a name."""
        x, row = self.place(onset)
        if not self.shows(row):
            return
        theme, r = self.look.theme, self.radius
        colour = theme.melody if kind is LineKind.MELODY else theme.bass
        at = (x + r + dp(2), self.lane_y(kind, row))
        note_shape(self._drawn, kind, at, r * 0.8, colour=colour, filled=False, width=1.6)

    def _chosen_place(self) -> None:
        """The place being worked on, where no note stands yet."""
        chosen = self.view.chosen
        if chosen is None or chosen[0] not in self.view.kinds or not self._inside(chosen[1]):
            return
        kind, onset = chosen
        if any(note.kind is kind and note.onset == onset for note in self.view.notes):
            return  # the note itself is ringed
        x, row = self.place(onset)
        if not self.shows(row):
            return
        r = self.radius
        centre = (x + r + dp(2), self.lane_y(kind, row))
        self._drawn.add(paint(self.look.theme.focus))
        self._drawn.add(SmoothLine(circle=(*centre, r + dp(4)), width=dp(1.6)))

    def _inside(self, onset: Fraction) -> bool:
        return self.view.bars[0] <= onset < self.view.bars[-1]

    def _note(self, note: StripNote) -> None:
        if note.kind not in self.view.kinds:
            return
        group, theme = self._drawn, self.look.theme
        x, row = self.place(note.onset)
        if not self.shows(row):
            return
        y, r = self.lane_y(note.kind, row), self.radius
        melody = note.kind is LineKind.MELODY
        colour, ink = (theme.melody, theme.on_melody) if melody else (theme.bass, theme.on_bass)
        end = note.onset + note.duration
        self._tail(note.kind, row, x + r, end, colour)
        for later in range(row + 1, self.layout.row_of(end) - self.first_row + 1):
            self._tail(note.kind, later, self.x, end, colour)  # tied over into the next row
        centre = (x + r + dp(2), y)
        sure = note.answer in {Answer.UNASKED, Answer.HEARD}
        if self.view.chosen == (note.kind, note.onset):
            group.add(paint(theme.focus))
            group.add(SmoothLine(circle=(*centre, r + dp(4)), width=dp(1.6)))
        note_shape(group, note.kind, centre, r, colour=theme.surface if not sure else colour)
        if not sure:
            note_shape(group, note.kind, centre, r, colour=colour, filled=False, width=2.6)
        if note.long is not None:
            self._long_or_short(centre, r, colour, is_long=note.long)
        px = min(type_px(self.look, BODY_SP), r * (1.2 if len(note.name) < 2 else 0.95))
        write(group, note.name, centre, px=px, colour=ink if sure else theme.text, bold=True)
        if note.answer is not Answer.UNASKED:
            self._mark(note.answer, (centre[0] + r * 0.85, centre[1] + r * 0.8))

    def _tail(self, kind: LineKind, row: int, left: float, end: Fraction, colour: str) -> None:
        """How long a note lasts, within one row."""
        if not self.shows(row):
            return
        right = min(self._right_of(end, row), self.right) - dp(5)
        self._drawn.add(paint(colour, 0.55))
        self._drawn.add(
            Rectangle(pos=(left, self.lane_y(kind, row) - dp(2)), size=(max(0, right - left), dp(4)))
        )

    def _long_or_short(self, centre: tuple[float, float], r: float, colour: str, *, is_long: bool) -> None:
        """A bar under a long note, a dot under a short one, as in the signs of verse."""
        width = 2 * r if is_long else dp(6)
        self._drawn.add(paint(colour))
        self._drawn.add(Rectangle(pos=(centre[0] - width / 2, centre[1] - r - dp(7)), size=(width, dp(4))))

    def _mark(self, answer: Answer, at: tuple[float, float]) -> None:
        """The sign of an answer at the note's upper right; the words stand beside the strip."""
        group, theme, r = self._drawn, self.look.theme, dp(10)
        sign, colour = {
            Answer.HEARD: ("", theme.good),
            Answer.OTHER_OCTAVE: ("12", theme.caution),
            Answer.EARLIER: ("‹", theme.caution),
            Answer.LATER: ("›", theme.caution),
            Answer.NOT_HEARD: ("×", theme.wrong),
            Answer.CANNOT_TELL: ("?", theme.quiet),
            Answer.OPEN: ("…", theme.quiet),
        }[answer]
        note_shape(group, LineKind.MELODY, at, r, colour=theme.ground)
        note_shape(group, LineKind.MELODY, at, r, colour=colour, filled=False, width=1.4)
        if answer is Answer.HEARD:
            tick(group, at, r * 0.7, colour)
        else:
            write(group, sign, at, px=dp(14), colour=colour, bold=True)

    # --- hands --------------------------------------------------------------------------------------------

    def on_touch_down(self, touch: Touch) -> bool:
        """Wait for the end of a tap."""
        if self.tapped is None or not self.collide_point(*touch.pos) or touch.is_mouse_scrolling:
            return super().on_touch_down(touch)
        touch.grab(self)
        return True

    def on_touch_up(self, touch: Touch) -> bool:
        """A tap means a line and a time."""
        if touch.grab_current is not self:
            return super().on_touch_up(touch)
        touch.ungrab(self)
        found = self.at(*touch.pos) if travelled(touch) < dp(16) else None
        if found is not None and self.tapped is not None:
            self.tapped(*found)
        return True

    def at(self, x: float, y: float) -> tuple[LineKind, Fraction] | None:
        """The line and the musical time of a point, ``None`` outside the music."""
        bars, many = self.view.bars, self.bars_a_row
        row = int((self.top - y) / self.row_height)
        first = (row + self.first_row) * many
        if not 0 <= first < len(bars) - 1:
            return None
        raw = Fraction((x - self.x) / self.width).limit_denominator(10_000) * self.layout.across + bars[first]
        time = bars[0] + Fraction(int((raw - bars[0]) / self.grid)) * self.grid
        kind = min(self.view.kinds, key=lambda each: abs(self.lane_y(each, row) - y))
        return (kind, time) if bars[first] <= time < bars[min(first + many, len(bars) - 1)] else None
