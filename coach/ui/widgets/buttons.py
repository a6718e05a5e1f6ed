"""Buttons and choices that a hand can hit without looking."""

from collections.abc import Callable, Sequence
from enum import Enum

from kivy.graphics import InstructionGroup, SmoothLine
from kivy.metrics import dp
from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.label import Label

from coach.ui.drawing import backdrop, marked_up, paint, rgba, type_px, width_of
from coach.ui.theme import BODY_SP, DRILL_TARGET_DP, TARGET_DP, TITLE_SP, Look
from coach.ui.widgets.layout import Flow


class Weight(Enum):
    """How loud a button is."""

    BIG = "big"
    """The one action."""
    PLAIN = "plain"
    QUIET = "quiet"


class Press(ButtonBehavior, Label):
    """A button with wrapping words, a focus ring and a target that is large enough.

    Parameters
    ----------
    pressed
        Called when it is tapped or pressed by key.
    natural
        As wide as its words (at most what it is given); else it shares its place's width.
    """

    said = StringProperty("")
    focused = BooleanProperty(False)
    chosen = BooleanProperty(False)

    def __init__(
        self,
        look: Look,
        said: str,
        pressed: Callable[[], None] | None = None,
        *,
        weight: Weight = Weight.PLAIN,
        natural: bool = True,
        target_dp: float = TARGET_DP,
    ) -> None:
        big = weight is Weight.BIG
        super().__init__(
            markup=True,
            font_size=type_px(look, TITLE_SP if big else BODY_SP),
            bold=big,
            halign="center",
            valign="middle",
            size_hint=(None if natural else 1, None),
            always_release=False,
        )
        self.look, self.weight, self.natural = look, weight, natural
        self.target = dp(DRILL_TARGET_DP if big else target_dp)
        self.pressed = pressed
        self.natural_width = 0.0
        self._ground = backdrop(self, look.theme.raised, radius_dp=16)
        self._ring = InstructionGroup()
        self.canvas.after.add(self._ring)
        self.bind(
            texture_size=self._grow, width=self._wrap, said=self._say, state=self._shade,
            disabled=self._shade, chosen=self._shade, focused=self._shade, pos=self._shade, size=self._shade,
        )  # fmt: skip
        self.said = said
        self._say()

    def on_release(self) -> None:
        """Do what the button is for."""
        if self.pressed is not None:
            self.pressed()

    def press_by_key(self) -> None:
        """The same by Space, Enter or a pedal."""
        if not self.disabled:
            self.dispatch("on_release")

    def _say(self, *_: object) -> None:
        self.text = marked_up(self.said)
        if self.natural:
            wish = width_of(self.said, self.font_size, bold=self.bold) + dp(56 if self.bold else 40)
            self.width = self.natural_width = max(self.target * 1.25, wish)
        self._wrap()
        self._shade()

    def _wrap(self, *_: object) -> None:
        self.text_size = (max(dp(24), self.width - dp(24)), None)

    def _grow(self, *_: object) -> None:
        self.height = max(self.target, self.texture_size[1] + dp(20))

    def _shade(self, *_: object) -> None:
        theme = self.look.theme
        # The edge tells a button from a card of the same ground (WCAG 2.2, 1.4.11).
        ground, words = theme.raised, theme.text
        edge: str | None = theme.outline
        if self.disabled:
            ground, words, edge = theme.surface, theme.quiet, None
        elif self.weight is Weight.BIG:
            ground, words, edge = theme.action, theme.on_action, None
        elif self.chosen:
            edge = theme.action
        elif self.weight is Weight.QUIET:
            ground = theme.ground
        alpha = 0.75 if self.state == "down" else 1.0
        self._ground.rgba = rgba(ground, alpha)
        self.color = self.disabled_color = rgba(words)
        self._draw_edge(
            theme.focus if self.focused else edge, dp(2) if self.focused or self.chosen else dp(1)
        )

    def _draw_edge(self, colour: str | None, width: float) -> None:
        self._ring.clear()
        if colour is None:
            return
        out = dp(3) if self.focused else 0
        place = (self.x - out, self.y - out, self.width + 2 * out, self.height + 2 * out, dp(16) + out)
        self._ring.add(paint(colour))
        self._ring.add(SmoothLine(rounded_rectangle=place, width=width))
        if self.chosen:
            self._ring.add(
                SmoothLine(
                    points=[self.x + dp(16), self.y + dp(6), self.right - dp(16), self.y + dp(6)],
                    width=dp(1.5),
                )
            )


class Choice(Flow):
    """One of several, all in sight; the chosen one is ringed and underlined.

    Parameters
    ----------
    options
        Pairs of what is handed to ``choose`` and the words for it.
    wide
        One under the other, each as wide as its place: for sentences.
    """

    def __init__(
        self,
        look: Look,
        options: Sequence[tuple[str, str]],
        chosen: str | None,
        choose: Callable[[str], None],
        *,
        wide: bool = False,
    ) -> None:
        super().__init__()
        self.buttons: dict[str, Press] = {}
        for key, words in options:
            button = Press(look, words, natural=not wide)
            button.pressed = self._pressing(key, choose)
            self.buttons[key] = button
            self.add_widget(button)
        self.choose(chosen)

    def choose(self, key: str | None) -> None:
        """Show one as the chosen one."""
        for each, button in self.buttons.items():
            button.chosen = each == key

    def _pressing(self, key: str, choose: Callable[[str], None]) -> Callable[[], None]:
        def press() -> None:
            self.choose(key)
            choose(key)

        return press
