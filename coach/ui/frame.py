"""The frame around every screen: places in a rail or bar, the one big action, the level bar."""

from collections.abc import Callable, Sequence

from kivy.graphics import InstructionGroup, Rectangle, SmoothLine
from kivy.metrics import dp
from kivy.properties import BooleanProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.label import Label
from kivy.uix.widget import Widget

from coach.notation.line import LineKind
from coach.ui.drawing import backdrop, fill_circle, fill_round, note_shape, paint, rgba, type_px
from coach.ui.keys import Keys
from coach.ui.screens.table import PLACES, Place
from coach.ui.theme import DRILL_TARGET_DP, MARK_SP, SPACE_DP, TARGET_DP, Look
from coach.ui.widgets.buttons import Press, Weight
from coach.ui.widgets.layout import Row
from coach.ui.widgets.levels import LevelBar
from coach.ui.widgets.page import Page

RAIL_DP = 96
LEVEL_LEAST_DP = 200
"""Narrower than this, the level bar gets a line of its own above the actions."""


class PlaceButton(ButtonBehavior, BoxLayout):
    """One of the places: a drawn sign and its word."""

    focused = BooleanProperty(False)
    here = BooleanProperty(False)

    def __init__(self, look: Look, place: Place, go: Callable[[], None]) -> None:
        super().__init__(orientation="vertical", padding=[0, dp(8)])
        self.look, self.place, self.go = look, place, go
        self.sign = Widget()
        self.word = Label(
            text=place.title, font_size=type_px(look, MARK_SP), size_hint_y=None, color=rgba(look.theme.text)
        )
        self.word.bind(texture_size=lambda label, size: setattr(label, "height", size[1]))
        self.add_widget(self.sign)
        self.add_widget(self.word)
        self._drawn = InstructionGroup()
        self.canvas.before.add(self._drawn)
        self.bind(pos=self._draw, size=self._draw, here=self._draw, focused=self._draw)
        self.sign.bind(pos=self._draw, size=self._draw)

    def on_release(self) -> None:
        """Go there."""
        self.go()

    def press_by_key(self) -> None:
        """Go there by key."""
        self.go()

    def _draw(self, *_: object) -> None:
        group, theme = self._drawn, self.look.theme
        group.clear()
        if self.here:
            group.add(paint(theme.raised))
            fill_round(
                group, (self.x + dp(6), self.y + dp(2)), (self.width - dp(12), self.height - dp(4)), dp(14)
            )
        self.word.color = rgba(theme.text if self.here else theme.quiet)
        draw_sign(group, self.place.word, self.sign.center, dp(14), self.look, lit=self.here)
        if self.focused:
            group.add(paint(theme.focus))
            group.add(
                SmoothLine(
                    rounded_rectangle=(
                        self.x + dp(4),
                        self.y + dp(1),
                        self.width - dp(8),
                        self.height - dp(2),
                        dp(15),
                    ),
                    width=dp(2),
                )
            )


def draw_sign(
    group: InstructionGroup, word: str, centre: tuple[float, float], r: float, look: Look, *, lit: bool
) -> None:
    """Add the sign of a place, about ``2 r`` high."""
    (x, y), theme = centre, look.theme
    colour = theme.text if lit else theme.quiet
    group.add(paint(colour))
    thin = dp(1.6)
    match word:
        case "today":
            group.add(SmoothLine(circle=(x, y, r * 0.5), width=thin))
            for turn in range(4):
                dx, dy = ((1, 0), (0, 1), (-1, 0), (0, -1))[turn]
                group.add(
                    SmoothLine(
                        points=[x + dx * r * 0.75, y + dy * r * 0.75, x + dx * r, y + dy * r],
                        width=thin,
                        cap="round",
                    )
                )
        case "ear":
            fill_circle(group, (x - r * 0.65, y), r * 0.2)
            for ring in (0.55, 1.0, 1.45):
                group.add(SmoothLine(circle=(x - r * 0.65, y, r * ring, 35, 145), width=thin, cap="round"))
        case "piece":
            note_shape(
                group,
                LineKind.MELODY,
                (x + r * 0.4, y + r * 0.5),
                r * 0.5,
                colour=theme.melody if lit else colour,
            )
            note_shape(
                group,
                LineKind.BASS,
                (x - r * 0.4, y - r * 0.5),
                r * 0.5,
                colour=theme.bass if lit else colour,
            )
        case "log":
            for step, height in enumerate((0.7, 1.3, 0.45, 1.8)):
                group.add(
                    Rectangle(pos=(x - r * 0.95 + step * r * 0.52, y - r * 0.9), size=(r * 0.32, r * height))
                )
        case "teacher":
            _two_people(group, (x, y), r)
        case _:
            for step, knob in enumerate((0.3, 0.7, 0.45)):
                level = y + (1 - step) * r * 0.65
                group.add(SmoothLine(points=[x - r * 0.9, level, x + r * 0.9, level], width=thin * 0.7))
                fill_circle(group, (x - r * 0.9 + knob * 1.8 * r, level), r * 0.2)


def _two_people(group: InstructionGroup, centre: tuple[float, float], r: float) -> None:
    """Add a large and a small head with shoulders."""
    x, y = centre
    for left, size in ((-0.55, 0.42), (0.55, 0.3)):
        fill_circle(group, (x + r * left, y + r * 0.45), r * size)
        shoulders = (x + r * left, y - r * 0.75, r * (size + 0.25), -90, 90)
        group.add(SmoothLine(circle=shoulders, width=dp(1.6), cap="round"))


class Footer(BoxLayout):
    """The level bar, the quieter action, and the one big action at the lower right."""

    def __init__(self, look: Look) -> None:
        super().__init__(orientation="vertical", size_hint_y=None, padding=[dp(3 * SPACE_DP), dp(SPACE_DP)])
        self.look = look
        self.page: Page | None = None
        self.big = Press(look, "", self._act, weight=Weight.BIG, target_dp=DRILL_TARGET_DP)
        self.second = Press(look, "", self._act_second, weight=Weight.QUIET, target_dp=DRILL_TARGET_DP)
        self.level: LevelBar | None = None
        self.line = Row(gap=1.5)
        self.bind(minimum_height=self.setter("height"), width=self.arrange)
        self.bind(minimum_height=self.setter("height"))

    def follow(self, page: Page) -> None:
        """Show the actions of a page, now and whenever they change."""
        self.leave()
        self.page = page
        page.bind(action=self.arrange, second=self.arrange, action_enabled=self.arrange, source=self.arrange)
        self.arrange()

    def leave(self) -> None:
        """Forget the page."""
        if self.page is not None:
            page = self.page
            page.unbind(
                action=self.arrange, second=self.arrange, action_enabled=self.arrange, source=self.arrange
            )
            self.page = None
        self._drop_level()

    def arrange(self, *_: object) -> None:
        """Lay out what the page asks for."""
        page = self.page
        if page is None:
            return
        self.big.said, self.second.said = page.action, page.second
        self.big.disabled = not page.action_enabled
        if page.source is None:
            self._drop_level()
        elif self.level is None:
            self.level = LevelBar(self.look, page.source)
        else:
            self.level.source = page.source
        self.clear_widgets()
        self.line.clear_widgets()
        buttons = [button for button in (self.second, self.big) if button.said]
        room = self.width - 2 * dp(3 * SPACE_DP)
        self._bound(buttons, room)
        left = room - sum(button.width for button in buttons) - len(buttons) * self.line.spacing
        beside = self.level is not None and left >= dp(LEVEL_LEAST_DP)
        if self.level is not None and not beside:
            self.add_widget(self.level)
        self.line.add_widget(
            self.level if beside and self.level is not None else Widget(size_hint_y=None, height=1)
        )
        for button in buttons:
            self.line.add_widget(button)
        if buttons or beside:
            self.add_widget(self.line)

    def _bound(self, buttons: list[Press], room: float) -> None:
        """Let the buttons share the room where their words would need more."""
        for button in buttons:
            button._say()  # noqa: SLF001 - back to its natural width
        wish = sum(button.width for button in buttons) + len(buttons) * self.line.spacing
        if wish > room > 0 and buttons:
            for button in buttons:
                button.width = max(dp(2 * TARGET_DP), button.width * room / wish)

    def _drop_level(self) -> None:
        if self.level is not None:
            self.level.stop()
            if self.level.parent is not None:
                self.level.parent.remove_widget(self.level)
            self.level = None

    def _act(self) -> None:
        if self.page is not None:
            self.page.press_action()

    def _act_second(self) -> None:
        if self.page is not None:
            self.page.press_second()


class Frame(BoxLayout):
    """Rail at the left in landscape, bar at the bottom in portrait; page and footer beside or above it."""

    def __init__(self, look: Look, go: Callable[[str], None], places: Sequence[Place] = PLACES) -> None:
        super().__init__()
        self.look, self._places = look, places
        backdrop(self, look.theme.ground)
        self.rail = BoxLayout()
        backdrop(self.rail, look.theme.surface)
        self.places = {place.word: PlaceButton(look, place, self._going(place.word, go)) for place in places}
        self.holder = BoxLayout()
        self.footer = Footer(look)
        self.content = BoxLayout(orientation="vertical")
        self.content.add_widget(self.holder)
        self.content.add_widget(self.footer)
        self.keys = Keys(self)
        self.page: Page | None = None
        self.landscape: bool | None = None
        self.bind(size=self._turn)
        self._turn()

    def show(self, page: Page, place: str) -> None:
        """Put a page in and light its place."""
        self.clear()
        self.page = self.keys.page = page
        self.holder.add_widget(page)
        self.footer.follow(page)
        page.bind(times_drawn=self._drawn_anew)
        for word, button in self.places.items():
            button.here = word == place
        page.opened()

    def clear(self) -> None:
        """Take the page out."""
        self.keys.forget()
        page, self.page, self.keys.page = self.page, None, None
        self.footer.leave()
        self.holder.clear_widgets()
        if page is not None:
            page.unbind(times_drawn=self._drawn_anew)
            page.closed()

    def _drawn_anew(self, *_: object) -> None:
        self.keys.drawn_anew()

    def _going(self, word: str, go: Callable[[str], None]) -> Callable[[], None]:
        return lambda: go(word)

    def _turn(self, *_: object) -> None:
        landscape = self.width >= self.height
        if landscape == self.landscape:
            return
        self.landscape = landscape
        self.clear_widgets()
        self.rail.clear_widgets()
        self.orientation = "horizontal" if landscape else "vertical"
        self.rail.padding = [0, dp(SPACE_DP)] if landscape else [dp(SPACE_DP), 0]
        self.rail.orientation = "vertical" if landscape else "horizontal"
        wide = dp(RAIL_DP) * max(1.0, 0.5 + 0.5 * self.look.text_scale)
        self.rail.size_hint = (None, 1) if landscape else (1, None)
        self.rail.size = (wide, wide)
        high = dp(84) if len(self._places) <= len(PLACES) else dp(72)
        for place in self._places:
            button = self.places[place.word]
            button.size_hint = (1, None) if landscape else (1, 1)
            button.height = high if landscape else wide
            if landscape and place is self._places[len(PLACES) - 1]:
                self.rail.add_widget(Widget())
            self.rail.add_widget(button)
        for part in (self.rail, self.content) if landscape else (self.content, self.rail):
            self.add_widget(part)
