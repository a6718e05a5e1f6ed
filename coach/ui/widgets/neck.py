"""The fretboard, large: notes with fingers, other places hollow, out-of-reach places hatched."""

from collections.abc import Callable

from kivy.clock import Clock
from kivy.graphics import (
    InstructionGroup,
    Line,
    Rectangle,
    RoundedRectangle,
    SmoothLine,
    StencilPop,
    StencilPush,
    StencilUnUse,
    StencilUse,
)
from kivy.metrics import dp
from kivy.properties import NumericProperty
from kivy.uix.widget import Widget

from coach.notation.line import LineKind
from coach.ui.drawing import dashed, fill_round, note_shape, paint, type_px, write
from coach.ui.presenters.drawn import NeckNote, NeckView, OtherPlace
from coach.ui.theme import BODY_SP, GRAB_DP, MARK_SP, TARGET_DP, Look
from coach.ui.widgets.key_cursor import NeckCursor
from coach.ui.widgets.touch import Touch, travelled

INLAYS = (3, 5, 7, 9, 12, 15, 17)
"""Frets marked on the neck (common practice on guitars)."""
NUT_DP = 56
FOOT_DP = 30
HEAD_DP = 10
"""Wood above the first string, where a note's fingers are written."""
PAN_FROM_DP = 14
HELD_ALPHA = 0.3
"""A held note is paler inside its edge than a struck one."""


class FretboardView(Widget):
    """The neck with the thin string on top and the nut at the left, or at the right for left-handed players.

    Frets are drawn equally wide, so that high ones can be hit too; those that do not fit are reached by
    dragging sideways.

    Parameters
    ----------
    tapped
        Called with string (1 to 6) and fret (0 is open) of a tap.
    dragged
        Called with the line of a note that was dragged, and string and fret where it was let go; without it
        notes stay where they are.
    """

    first = NumericProperty(0.0)
    """The fret at the nut's side of the window; fractions while dragging."""

    def __init__(
        self,
        look: Look,
        view: NeckView,
        tapped: Callable[[int, int], None] | None = None,
        dragged: Callable[[LineKind, int, int], None] | None = None,
    ) -> None:
        super().__init__(size_hint_y=1, size_hint_min_y=dp(6 * GRAB_DP + FOOT_DP + HEAD_DP))
        self.look, self.view, self.tapped, self.dragged = look, view, tapped, dragged
        self._carried: tuple[NeckNote, tuple[float, float]] | None = None
        self._drawn = InstructionGroup()
        self._window, self._window_off = Rectangle(), Rectangle()
        for instruction in (
            StencilPush(), self._window, StencilUse(), self._drawn,
            StencilUnUse(), self._window_off, StencilPop(),
        ):  # fmt: skip
            self.canvas.add(instruction)
        self._draw = Clock.create_trigger(self._draw_now, -1)
        self.bind(pos=self._draw, size=self._draw, first=self._draw, width=self._begin)
        if tapped is not None:
            self.by_key = NeckCursor(self)

    def show(self, view: NeckView) -> None:
        """Show another moment; the window moves only if a note of it would be out of sight."""
        if view == self.view:
            return
        self.view = view
        self._bring_in_sight()
        self._draw()

    def _begin(self, *_: object) -> None:
        """Another width: from the nut on, or from where the notes are."""
        self.first = 0
        self._bring_in_sight()

    def _bring_in_sight(self) -> None:
        frets = [note.fret for note in self.view.notes if note.fret > 0]
        if frets and self.width > 1:
            if min(frets) - 1 < self.first:
                self.first = max(0, min(frets) - 1)
            elif max(frets) > self.first + self.frets_shown:
                self.first = min(self._last_first, max(frets) - self.frets_shown)

    # --- geometry -----------------------------------------------------------------------------------------

    @property
    def fret_width(self) -> float:
        """Width of a fret in pixels: at least a target."""
        room = self.width - dp(NUT_DP)
        return max(float(dp(TARGET_DP)), room / self.view.frets)

    @property
    def frets_shown(self) -> int:
        """Whole frets that fit."""
        return max(1, int((self.width - dp(NUT_DP)) / self.fret_width + 1e-6))

    @property
    def _last_first(self) -> int:
        return max(0, self.view.frets - self.frets_shown)

    @property
    def string_gap(self) -> float:
        """Distance of two strings in pixels."""
        return (self.height - self._foot - dp(HEAD_DP)) / 6

    @property
    def _foot(self) -> float:
        return type_px(self.look, MARK_SP) + float(dp(12))

    def place(self, string: int, fret: int) -> tuple[float, float]:
        """Where a finger goes; fret 0 lies on the nut's head."""
        along = dp(NUT_DP) / 2 if fret == 0 else dp(NUT_DP) + (fret - self.first - 0.5) * self.fret_width
        return (self._x(along), self.top - dp(HEAD_DP) - (string - 0.5) * self.string_gap)

    def at(self, x: float, y: float) -> tuple[int, int] | None:
        """String and fret of a point."""
        along = self.right - x if self.look.left_handed else x - self.x
        string = int((self.top - dp(HEAD_DP) - y) / self.string_gap) + 1
        fret = 0 if along < dp(NUT_DP) else int((along - dp(NUT_DP)) / self.fret_width + self.first) + 1
        return (string, fret) if 1 <= string <= 6 and 0 <= fret <= self.view.frets else None

    def _x(self, along: float) -> float:
        return self.right - along if self.look.left_handed else self.x + along

    # --- drawing ------------------------------------------------------------------------------------------

    def _draw_now(self, *_: object) -> None:
        for window in (self._window, self._window_off):
            window.pos, window.size = self.pos, self.size
        self._drawn.clear()
        self._wood()
        self._strings()
        for other in filter(self._in_window, self.view.places):
            self._other(other)
        for note in filter(self._in_window, self.view.notes):
            self._note(note)
        if self._carried is not None:
            note, at = self._carried
            colour = self.look.theme.melody if note.kind is LineKind.MELODY else self.look.theme.bass
            note_shape(self._drawn, note.kind, at, self._radius * 1.1, colour=colour, filled=False, width=4)

    def _in_window(self, place: NeckNote | OtherPlace) -> bool:
        """Whether most of a place's fret shows; else it would lie over the names of the open strings."""
        return place.fret == 0 or place.fret > self.first + 0.5

    def _wood(self) -> None:
        group, theme = self._drawn, self.look.theme
        low = self.y + self._foot
        left, right = sorted((self._x(dp(NUT_DP)), self._x(self.width)))
        group.add(paint(theme.neck))
        group.add(Rectangle(pos=(left, low), size=(right - left, self.top - low)))
        for fret in range(int(self.first), int(self.first) + self.frets_shown + 2):
            x = self._x(dp(NUT_DP) + (fret - self.first) * self.fret_width)
            nut = fret == 0
            if fret >= self.first - 1e-6:
                group.add(paint(theme.string if nut else theme.fret))
                group.add(Line(points=[x, low, x, self.top], width=dp(3 if nut else 0.9), cap="none"))
            middle = self._x(dp(NUT_DP) + (fret - self.first - 0.5) * self.fret_width)
            if fret in INLAYS and fret > self.first:
                px = type_px(self.look, MARK_SP)
                write(group, str(fret), (middle, self.y + dp(4)), px=px, colour=theme.quiet, anchor=(0.5, 0))
                for y in (0.5,) if fret != 12 else (0.31, 0.69):
                    at = (middle, low + y * (self.top - low))
                    note_shape(group, LineKind.MELODY, at, dp(6), colour=theme.fret, alpha=0.45)
        if self.view.capo and self.first < 0.5:
            self._capo(low)

    def _capo(self, low: float) -> None:
        group, theme = self._drawn, self.look.theme
        x = self._x(dp(NUT_DP))
        group.add(paint(theme.outline))
        group.add(RoundedRectangle(pos=(x - dp(7), low), size=(dp(14), self.top - low), radius=[dp(6)]))
        words, px = f"capo {self.view.capo}", type_px(self.look, MARK_SP)
        side = 1 if self.look.left_handed else 0
        edge = self.right if self.look.left_handed else self.x
        write(group, words, (edge, self.y + dp(4)), px=px, colour=theme.quiet, anchor=(side, 0))

    def _strings(self) -> None:
        group, theme = self._drawn, self.look.theme
        px = type_px(self.look, BODY_SP)
        for string in range(1, 7):
            y = self.place(string, 0)[1]
            group.add(paint(theme.string, 0.9))
            ends = [self._x(dp(NUT_DP)), y, self._x(self.width), y]
            group.add(Line(points=ends, width=dp(0.5 + 0.22 * string), cap="none"))
            name = self.view.string_names[string - 1]
            write(group, name, (self._x(dp(NUT_DP) / 2), y), px=px, colour=theme.quiet)

    @property
    def _radius(self) -> float:
        return min(self.string_gap * 0.46, self.fret_width * 0.42)

    def _other(self, other: OtherPlace) -> None:
        group, theme = self._drawn, self.look.theme
        colour = theme.melody if other.kind is LineKind.MELODY else theme.bass
        at, r = self.place(other.string, other.fret), self._radius * 0.86
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
            px = type_px(self.look, MARK_SP)
            self._flag(f"{other.too_far_mm:.0f} mm", (at[0], at[1] - r), px)

    def _flag(self, words: str, at: tuple[float, float], px: float) -> None:
        """Words on a ground of their own below a place."""
        group, theme = self._drawn, self.look.theme
        width, height = len(words) * px * 0.56 + dp(8), px * 1.25
        y = max(self.y + self._foot, at[1] - height)
        group.add(paint(theme.ground, 0.9))
        group.add(RoundedRectangle(pos=(at[0] - width / 2, y), size=(width, height), radius=[dp(5)]))
        write(group, words, (at[0], y + height / 2), px=px, colour=theme.caution)

    def _note(self, note: NeckNote) -> None:
        group, theme = self._drawn, self.look.theme
        melody = note.kind is LineKind.MELODY
        colour, ink = (theme.melody, theme.on_melody) if melody else (theme.bass, theme.on_bass)
        (x, y), r = self.place(note.string, note.fret), self._radius
        if note.chosen:
            note_shape(group, note.kind, (x, y), r + dp(5), colour=theme.focus)
        note_shape(group, note.kind, (x, y), r + dp(2), colour=theme.ground)
        note_shape(group, note.kind, (x, y), r, colour=colour, alpha=HELD_ALPHA if note.held else 1.0)
        if note.held:
            ink = theme.text
            note_shape(group, note.kind, (x, y), r, colour=colour, filled=False, width=3)
        px = min(type_px(self.look, BODY_SP), r * 0.95)
        write(group, note.name, (x, y), px=px, colour=ink, bold=True)
        badge = "" if note.finger is None else str(note.finger)
        badge += note.right_hand or ""
        badge = f"{badge} held" if note.held else badge
        if badge:
            self._badge(badge, (x + r * 0.95 - dp(14), y + r * 0.72), colour)

    def _badge(self, words: str, left: tuple[float, float], colour: str) -> None:
        group, theme = self._drawn, self.look.theme
        high = dp(20)
        wide = max(high, dp(9 * len(words) + 10))
        pos, at = (left[0], left[1] - high / 2), (left[0] + wide / 2, left[1])
        group.add(paint(theme.ground))
        fill_round(group, pos, (wide, high), high / 2)
        group.add(paint(colour))
        group.add(SmoothLine(rounded_rectangle=(*pos, wide, high, high / 2), width=dp(1)))
        write(group, words, at, px=dp(14), colour=theme.text, bold=True)

    # --- hands --------------------------------------------------------------------------------------------

    def on_touch_down(self, touch: Touch) -> bool:
        """A tap or the beginning of a drag."""
        if not self.collide_point(*touch.pos) or touch.is_mouse_scrolling:
            return super().on_touch_down(touch)
        touch.grab(self)
        touch.ud["neck_from"] = self.first
        touch.ud["neck_note"] = self.note_at(*touch.pos)
        return True

    def note_at(self, x: float, y: float) -> NeckNote | None:
        """The note that a finger at a point would drag away."""
        if self.dragged is None or not self.collide_point(x, y):
            return None
        place = self.at(x, y)
        return next((note for note in self.view.notes if (note.string, note.fret) == place), None)

    def on_touch_move(self, touch: Touch) -> bool:
        """Drag a note, or the neck sideways."""
        if touch.grab_current is not self:
            return super().on_touch_move(touch)
        if touch.ud["neck_note"] is not None:
            self._carried = (touch.ud["neck_note"], touch.pos)
            self._draw()
            return True
        along = (touch.x - touch.ox) * (-1 if self.look.left_handed else 1)
        if abs(along) > dp(PAN_FROM_DP):
            wanted = touch.ud["neck_from"] - along / self.fret_width
            self.first = min(self._last_first, max(0.0, wanted))
        return True

    def on_touch_up(self, touch: Touch) -> bool:
        """A tap gives string and fret; a dragged note its new place; a dragged neck rests on a whole fret."""
        if touch.grab_current is not self:
            return super().on_touch_up(touch)
        touch.ungrab(self)
        if touch.ud["neck_note"] is not None and travelled(touch) > dp(PAN_FROM_DP):
            return self._let_go(touch)
        self._carried = None
        if travelled(touch) > dp(PAN_FROM_DP):
            self.first = round(self.first)
            return True
        found = self.at(*touch.pos)
        if found is not None and self.tapped is not None:
            self.tapped(*found)
        return True

    def _let_go(self, touch: Touch) -> bool:
        """A dragged note comes down somewhere."""
        self._carried = None
        self._draw()
        found = self.at(*touch.pos)
        if found is not None and self.dragged is not None:
            self.dragged(touch.ud["neck_note"].kind, *found)
        return True
