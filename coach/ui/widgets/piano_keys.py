"""Piano keys to enter notes by: as many as fit, moved by the octave."""

from collections.abc import Callable

from kivy.clock import Clock
from kivy.graphics import InstructionGroup, Rectangle, RoundedRectangle, SmoothLine
from kivy.metrics import dp
from kivy.properties import NumericProperty
from kivy.uix.widget import Widget

from coach.music import Pitch
from coach.music.naming import screen_name
from coach.music.tuning_system import OCTAVE
from coach.ui.drawing import note_shape, paint, type_px, write
from coach.ui.presenters.drawn import KeysView
from coach.ui.theme import BODY_SP, MARK_SP, TARGET_DP, Look
from coach.ui.widgets.buttons import Press, Weight
from coach.ui.widgets.key_cursor import KeysCursor
from coach.ui.widgets.layout import Column, Row
from coach.ui.widgets.touch import Touch, travelled

WHITE = (0, 2, 4, 5, 7, 9, 11)
"""Semitones of the white keys of an octave above its C."""
WHITE_DP = 66
"""Wide enough that a black key is a target, too, and the white ones beside it still show."""
BLACK_DP = TARGET_DP
BLACK_HIGH_DP, WHITE_HIGH_DP = 76, 72
"""Height of the black keys, and of what is left of the white ones below them."""
MOST_WHITE = 22
"""Three octaves and a note: more are too narrow to read at arm's length."""


class PianoKeys(Column):
    """The keys, with a button on either side of them for lower and higher ones."""

    def __init__(self, look: Look, view: KeysView, tapped: Callable[[int], None]) -> None:
        self.keys = KeyRow(look, view, tapped)
        lower = Press(look, "Lower keys", lambda: self.keys.move(-1), weight=Weight.QUIET, natural=False)
        higher = Press(look, "Higher keys", lambda: self.keys.move(1), weight=Weight.QUIET, natural=False)
        super().__init__(self.keys, Row(lower, higher), gap=1)

    def show(self, view: KeysView) -> None:
        """Show another note as the one in question."""
        self.keys.show(view)


class KeyRow(Widget):
    """White and black keys, each at least a target wide and high.

    Parameters
    ----------
    tapped
        Called with the note (MIDI) of a key.
    """

    first = NumericProperty(0)
    """Number of the first white key that is shown, counted from C of MIDI 0."""

    def __init__(self, look: Look, view: KeysView, tapped: Callable[[int], None]) -> None:
        super().__init__(size_hint_y=None, height=dp(BLACK_HIGH_DP + WHITE_HIGH_DP))
        self.look, self.view, self.tapped = look, view, tapped
        self._drawn = InstructionGroup()
        self.canvas.add(self._drawn)
        self._draw = Clock.create_trigger(self._draw_now, -1)
        self.first = white_number(view.near)
        self.bind(pos=self._draw, size=self._draw, first=self._draw, width=self._begin)
        self.by_key = KeysCursor(self)

    # --- which keys ---------------------------------------------------------------------------------------

    @property
    def count(self) -> int:
        """How many white keys fit."""
        return max(3, min(MOST_WHITE, int(self.width / dp(WHITE_DP))))

    @property
    def white_width(self) -> float:
        """Width of a white key in pixels."""
        return float(self.width / self.count)

    def _begin(self, *_: object) -> None:
        """Another width: the note that is worked on lies in the middle."""
        self.first = self._within(white_number(self.view.near) - self.count // 2)
        self._draw()

    def _within(self, first: int) -> int:
        lowest, highest = white_number(self.view.lowest), white_number(self.view.highest)
        return max(lowest, min(first, highest - self.count + 1))

    def move(self, octaves: int) -> None:
        """Show the keys an octave higher, or lower below zero."""
        self.first = self._within(self.first + len(WHITE) * octaves)

    def show(self, view: KeysView) -> None:
        """Show another note; the keys move only if it would be out of sight."""
        if view == self.view:
            return
        self.view = view
        if view.shown is not None:
            self.bring(view.shown)
        self._draw()

    def bring(self, midi: int) -> None:
        """Move the keys so that a note is in sight."""
        number = white_number(midi)
        if not self.first <= number < self.first + self.count:
            self.first = self._within(number - self.count // 2)

    # --- where --------------------------------------------------------------------------------------------

    def place(self, midi: int) -> tuple[float, float]:
        """Where a finger goes for a note: the middle of what is seen of its key."""
        left, low, width, high = self.box(midi)
        return left + width / 2, low + (high - dp(BLACK_HIGH_DP) if is_white(midi) else high) / 2

    def box(self, midi: int) -> tuple[float, float, float, float]:
        """Left, bottom, width and height of a key."""
        left = self.x + (white_number(midi) - self.first) * self.white_width
        if is_white(midi):
            return left, self.y, self.white_width, self.height
        width = max(dp(BLACK_DP), 0.62 * self.white_width)
        return left + self.white_width - width / 2, self.top - dp(BLACK_HIGH_DP), width, dp(BLACK_HIGH_DP)

    def at(self, x: float, y: float) -> int | None:
        """The note of the key at a point, ``None`` beside the keys."""
        if not (self.x <= x < self.right and self.y <= y < self.top):
            return None
        number = int((x - self.x) / self.white_width) + self.first
        white = white_midi(number)
        for midi in (white - 1, white + 1):
            left, low, width, high = self.box(midi)
            if (
                self.usable(midi)
                and not is_white(midi)
                and left <= x < left + width
                and low <= y < low + high
            ):
                return midi
        return white if self.usable(white) else None

    def usable(self, midi: int) -> bool:
        """Whether a key can be pressed: a black one also needs a white one on each side of it in sight."""
        number = white_number(midi)
        inside = self.first <= number < self.first + self.count - (not is_white(midi))
        return inside and self.view.lowest <= midi <= self.view.highest

    # --- drawing ------------------------------------------------------------------------------------------

    def _draw_now(self, *_: object) -> None:
        self._drawn.clear()
        whites = [white_midi(number) for number in range(self.first, self.first + self.count)]
        for midi in filter(self.usable, whites):
            self._key(midi)
        for midi in (white + 1 for white in whites):
            if not is_white(midi) and self.usable(midi):
                self._key(midi)
        if self.view.shown is not None and self.usable(self.view.shown):
            self._mark(self.view.shown)

    def _key(self, midi: int) -> None:
        group, theme = self._drawn, self.look.theme
        left, low, width, high = self.box(midi)
        pos, size = (left + dp(1), low), (width - dp(2), high)
        group.add(paint(theme.white_key if is_white(midi) else theme.black_key))
        group.add(RoundedRectangle(pos=pos, size=size, radius=[0, 0, dp(8), dp(8)]))
        group.add(paint(theme.black_key))
        group.add(SmoothLine(rounded_rectangle=(*pos, *size, dp(6)), width=dp(0.8)))
        if is_white(midi) and midi != self.view.shown:
            px = type_px(self.look, BODY_SP)
            name = screen_name(Pitch.from_midi(midi), self.look.naming)
            write(
                group,
                name,
                (left + width / 2, low + dp(8)),
                px=px,
                colour=theme.on_white_key,
                anchor=(0.5, 0),
            )

    def _mark(self, midi: int) -> None:
        """The note in question: its line's shape, its name, and a bar along the key's foot."""
        group, theme = self._drawn, self.look.theme
        melody = self.view.kind.value == "melody"
        colour, ink = (theme.melody, theme.on_melody) if melody else (theme.bass, theme.on_bass)
        left, low, width, _ = self.box(midi)
        group.add(paint(theme.focus))
        group.add(Rectangle(pos=(left + dp(4), low), size=(width - dp(8), dp(4))))
        at, radius = self.place(midi), dp(24)
        note_shape(group, self.view.kind, at, radius + dp(2), colour=theme.ground)
        note_shape(group, self.view.kind, at, radius, colour=colour)
        px = min(type_px(self.look, MARK_SP), radius)
        write(group, self.view.name, at, px=px, colour=ink, bold=True)

    # --- hands --------------------------------------------------------------------------------------------

    def on_touch_down(self, touch: Touch) -> bool:
        """Wait for the end of a tap: the page may be scrolled by its keys."""
        if not self.collide_point(*touch.pos) or touch.is_mouse_scrolling:
            return super().on_touch_down(touch)
        touch.grab(self)
        return True

    def on_touch_up(self, touch: Touch) -> bool:
        """A tap means a note."""
        if touch.grab_current is not self:
            return super().on_touch_up(touch)
        touch.ungrab(self)
        midi = self.at(*touch.pos) if travelled(touch) < dp(16) else None
        if midi is not None:
            self.tapped(midi)
        return True


def is_white(midi: int) -> bool:
    """Whether a note lies on a white key."""
    return midi % OCTAVE in WHITE


def white_number(midi: int) -> int:
    """Number of a note's white key, or of the one to the left of its black key, from C of MIDI 0."""
    octave, step = divmod(midi, OCTAVE)
    return len(WHITE) * octave + sum(white <= step for white in WHITE) - 1


def white_midi(number: int) -> int:
    """The note of a white key by its number."""
    octave, index = divmod(number, len(WHITE))
    return OCTAVE * octave + WHITE[index]
