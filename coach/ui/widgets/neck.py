"""The fretboard, large: notes with fingers, other places hollow, out-of-reach places hatched."""

from collections.abc import Callable

from kivy.clock import Clock
from kivy.graphics import (
    InstructionGroup,
    Line,
    Rectangle,
    RoundedRectangle,
    StencilPop,
    StencilPush,
    StencilUnUse,
    StencilUse,
)
from kivy.metrics import dp
from kivy.properties import BooleanProperty, NumericProperty
from kivy.uix.widget import Widget

from coach.notation.line import LineKind
from coach.ui.drawing import note_shape, paint, type_px, write
from coach.ui.presenters.drawn import NeckNote, NeckView, OtherPlace
from coach.ui.theme import BODY_SP, GRAB_DP, MARK_SP, TARGET_DP, Look
from coach.ui.widgets.key_cursor import NeckCursor
from coach.ui.widgets.neck_hand import add_hand, add_overview
from coach.ui.widgets.neck_marks import NUT_DP, add_note, add_other
from coach.ui.widgets.neck_window import STEP, NeckWindow
from coach.ui.widgets.touch import Pinch, Touch, travelled

INLAYS = (3, 5, 7, 9, 12, 15, 17)
"""Frets marked on the neck (common practice on guitars)."""
FOOT_DP = 30
HEAD_DP = 10
"""Wood above the first string, where a note's fingers are written."""
PAN_FROM_DP = 14
PINCHING = 2
"""Fingers that pinch."""
OVERVIEW_DP = 18


class FretboardView(Widget):
    """The neck with the thin string on top and the nut at the left, or at the right for left-handed players.

    Frets are drawn equally wide, so that high ones can be hit too; those that do not fit are reached by
    dragging sideways. Where it can be drawn nearer, two fingers that part do so, or a double tap beside the
    strings or on a note; what the hand presses stays in sight, and a line below shows the whole neck.

    Parameters
    ----------
    tapped
        Called with string (1 to 6) and fret (0 is open) of a tap.
    dragged
        Called with the line of a note that was dragged, and string and fret where it was let go; without it
        notes stay where they are.
    zooms
        Whether it can be drawn nearer.
    """

    first = NumericProperty(0.0)
    """The fret at the nut's side of the window; fractions while dragging."""
    zoom = NumericProperty(1.0)
    """1 shows as many frets as fit; more is nearer."""
    highest = NumericProperty(0.0)
    """Pixels that there are for it at most when it is drawn nearer."""
    can_come_closer = BooleanProperty(True)
    can_go_wider = BooleanProperty(False)

    def __init__(
        self,
        look: Look,
        view: NeckView,
        tapped: Callable[[int, int], None] | None = None,
        dragged: Callable[[LineKind, int, int], None] | None = None,
        *,
        zooms: bool = False,
    ) -> None:
        super().__init__(size_hint_y=1, size_hint_min_y=dp(6 * GRAB_DP + FOOT_DP + HEAD_DP))
        self.look, self.view, self.tapped, self.dragged, self.zooms = look, view, tapped, dragged, zooms
        self._pinch: Pinch | None = None
        self._fingers: list[Touch] = []
        self._carried: tuple[NeckNote, tuple[float, float]] | None = None
        self.drawn = InstructionGroup()
        self._window, self._window_off = Rectangle(), Rectangle()
        for instruction in (
            StencilPush(), self._window, StencilUse(), self.drawn,
            StencilUnUse(), self._window_off, StencilPop(),
        ):  # fmt: skip
            self.canvas.add(instruction)
        self._draw = Clock.create_trigger(self._draw_now, -1)
        self.bind(pos=self._draw, size=self._draw, first=self._draw, width=self._begin)
        self.bind(zoom=self._grow, highest=self._grow)
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
        if self.width > 1:
            self._take(self.window.with_in_sight(self._pressed))

    @property
    def _pressed(self) -> list[int]:
        """Frets that have to be in sight: those of the notes, and the one under the first finger."""
        frets = [note.fret for note in self.view.notes if note.fret > 0]
        return frets + ([self.view.hand] if self.view.hand and self.zooms else [])

    # --- nearer and wider ---------------------------------------------------------------------------------

    def closer(self) -> None:
        """A step nearer to where the hand is."""
        self.zoom_to(self.zoom * STEP)

    def wider(self) -> None:
        """A step back; at last as many frets as fit."""
        self.zoom_to(self.zoom / STEP)

    def zoom_to(self, zoom: float, about: float | None = None) -> None:
        """Draw it so many times nearer, about a fret (by default the middle of what is pressed)."""
        if not self.zooms:
            return
        pressed, window = self._pressed, self.window
        middle = window.first + window.frets_shown / 2
        if about is None:
            about = (min(pressed) + max(pressed) - 1) / 2 if pressed else middle
        nearer = window.zoomed(zoom, about)
        self._take(nearer.with_in_sight(pressed) if self._pinch is None else nearer)

    def _take(self, window: NeckWindow) -> None:
        self.zoom, self.first = window.zoom, window.first
        self.can_go_wider = window.zoom > 1.0
        self.can_come_closer = self.zooms and window.zoom < window.nearest - 1e-6
        self._draw()

    def _grow(self, *_: object) -> None:
        """Strings lie further apart, too, as far as there is room for all six."""
        least = dp(6 * GRAB_DP + FOOT_DP + HEAD_DP) + self._overview_high
        self.size_hint_min_y = max(least, min(least * self.zoom, self.highest))
        self._draw()

    # --- geometry -----------------------------------------------------------------------------------------

    @property
    def window(self) -> NeckWindow:
        """What is in sight."""
        pressed, room = self._pressed, max(1.0, self.width - float(dp(NUT_DP)))
        needed = max(pressed) - min(pressed) + 1 if pressed and self.zooms else 1
        return NeckWindow(room, float(dp(TARGET_DP)), self.view.frets, self.zoom, self.first, needed)

    @property
    def fret_width(self) -> float:
        """Width of a fret in pixels: at least a target."""
        return self.window.fret_width

    @property
    def frets_shown(self) -> int:
        """Whole frets that fit."""
        return self.window.frets_shown

    @property
    def _last_first(self) -> int:
        return self.window.last_first

    @property
    def string_gap(self) -> float:
        """Distance of two strings in pixels."""
        return (self.height - self.foot - dp(HEAD_DP)) / 6

    @property
    def foot(self) -> float:
        """Height of what lies below the strings."""
        return type_px(self.look, MARK_SP) + float(dp(12)) + self._overview_high

    @property
    def _overview_high(self) -> float:
        """Room for the whole neck, small, below the fret numbers."""
        return float(dp(OVERVIEW_DP)) if self.zoom > 1.0 and not self.window.shows_all else 0.0

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

    def along(self, fret: float) -> float:
        """Where a fret (0 is the nut) lies in pixels, in sight or not."""
        return self._x(float(dp(NUT_DP)) + (fret - self.first) * self.fret_width)

    def _x(self, along: float) -> float:
        return self.right - along if self.look.left_handed else self.x + along

    # --- drawing ------------------------------------------------------------------------------------------

    def _draw_now(self, *_: object) -> None:
        for window in (self._window, self._window_off):
            window.pos, window.size = self.pos, self.size
        self.drawn.clear()
        self._wood()
        self._strings()
        if self.zooms:
            add_hand(self)
            if self._overview_high:
                add_overview(self, float(dp(OVERVIEW_DP)))
        for other in filter(self._in_window, self.view.places):
            add_other(self, other)
        for note in filter(self._in_window, self.view.notes):
            add_note(self, note)
        if self._carried is not None:
            note, at = self._carried
            colour = self.look.theme.melody if note.kind is LineKind.MELODY else self.look.theme.bass
            note_shape(self.drawn, note.kind, at, self.radius * 1.1, colour=colour, filled=False, width=4)

    def _in_window(self, place: NeckNote | OtherPlace) -> bool:
        """Whether most of a place's fret shows; else it would lie over the names of the open strings."""
        return place.fret == 0 or place.fret > self.first + 0.5

    def _wood(self) -> None:
        group, theme = self.drawn, self.look.theme
        low = self.y + self.foot
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
                write(group, str(fret), (middle, self._numbers_y), px=px, colour=theme.quiet, anchor=(0.5, 0))
                for y in (0.5,) if fret != 12 else (0.31, 0.69):
                    at = (middle, low + y * (self.top - low))
                    note_shape(group, LineKind.MELODY, at, dp(6), colour=theme.fret, alpha=0.45)
        if self.view.capo and self.first < 0.5:
            self._capo(low)

    @property
    def _numbers_y(self) -> float:
        return self.y + float(dp(4)) + self._overview_high

    def _capo(self, low: float) -> None:
        group, theme = self.drawn, self.look.theme
        x = self._x(dp(NUT_DP))
        group.add(paint(theme.outline))
        group.add(RoundedRectangle(pos=(x - dp(7), low), size=(dp(14), self.top - low), radius=[dp(6)]))
        words, px = f"capo {self.view.capo}", type_px(self.look, MARK_SP)
        side = 1 if self.look.left_handed else 0
        edge = self.right if self.look.left_handed else self.x
        write(group, words, (edge, self._numbers_y), px=px, colour=theme.quiet, anchor=(side, 0))

    def _strings(self) -> None:
        group, theme = self.drawn, self.look.theme
        px = type_px(self.look, BODY_SP)
        for string in range(1, 7):
            y = self.place(string, 0)[1]
            group.add(paint(theme.string, 0.9))
            ends = [self._x(dp(NUT_DP)), y, self._x(self.width), y]
            group.add(Line(points=ends, width=dp(0.5 + 0.22 * string), cap="none"))
            name = self.view.string_names[string - 1]
            write(group, name, (self._x(dp(NUT_DP) / 2), y), px=px, colour=theme.quiet)

    @property
    def radius(self) -> float:
        """Of a note."""
        return min(self.string_gap * 0.46, self.fret_width * 0.42)

    # --- hands --------------------------------------------------------------------------------------------

    def on_touch_down(self, touch: Touch) -> bool:
        """A tap or the beginning of a drag."""
        if not self.collide_point(*touch.pos) or touch.is_mouse_scrolling:
            return super().on_touch_down(touch)
        touch.grab(self)
        touch.ud["neck_from"] = self.first
        touch.ud["neck_note"] = self.note_at(*touch.pos)
        if self.zooms:
            self._begin_pinch(touch)
        return True

    def _begin_pinch(self, touch: Touch) -> None:
        """A second finger: from now on the two draw the neck nearer or wider."""
        self._fingers.append(touch)
        if len(self._fingers) == PINCHING:
            self._carried = None
            one, other = self._fingers
            self._pinch = Pinch(one, other, self.zoom, self._fret_at((one.x + other.x) / 2))

    def _fret_at(self, x: float) -> float:
        """Frets from the nut to a point, with fractions."""
        along = self.right - x if self.look.left_handed else x - self.x
        return (along - float(dp(NUT_DP))) / self.fret_width + self.first

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
        if self._pinch is not None:
            self.zoom_to(self._pinch.zoom, self._pinch.about)
            return True
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
        if self._pinched(touch):
            return True
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

    def _pinched(self, touch: Touch) -> bool:
        """Whether a finger that is lifted has pinched, or was the second of two taps."""
        if touch in self._fingers:
            self._fingers.remove(touch)
        if self._pinch is not None:
            if not self._fingers:
                self._pinch = None
                self._take(self.window.moved(round(self.first)).with_in_sight(self._pressed))
            return True
        beside = touch.ud["neck_note"] is not None or self._beside_strings(touch)
        if self.zooms and beside and getattr(touch, "is_double_tap", False):
            self.zoom_to(1.0 if self.zoom > 1.0 else STEP**2, self._fret_at(touch.x))
            return True
        return False

    def _beside_strings(self, touch: Touch) -> bool:
        return touch.y < self.y + self.foot

    def _let_go(self, touch: Touch) -> bool:
        """A dragged note comes down somewhere."""
        self._carried = None
        self._draw()
        found = self.at(*touch.pos)
        if found is not None and self.dragged is not None:
            self.dragged(touch.ud["neck_note"].kind, *found)
        return True
