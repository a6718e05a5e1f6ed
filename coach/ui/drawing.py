"""Small helpers for drawing on Kivy's canvas."""

from collections.abc import Iterable
from functools import lru_cache

from kivy.core.text import Label as CoreLabel
from kivy.graphics import (
    Color,
    Ellipse,
    InstructionGroup,
    Rectangle,
    RoundedRectangle,
    SmoothLine,
)
from kivy.graphics.texture import Texture
from kivy.metrics import dp, sp
from kivy.uix.widget import Widget
from kivy.utils import escape_markup

from coach.notation.line import LineKind
from coach.ui.theme import Look, channels

FONT = "Roboto"
SIGN_FONT = "DejaVuSans"
"""Both lie in Kivy's own data; Roboto lacks ♯ ♭ ✓ and the arrows."""
FIRST_SIGN = "\u2190"
"""From the arrows on, characters are taken from the second font, but for the minus sign."""
MINUS = "\u2212"


def rgba(colour: str, alpha: float = 1.0) -> tuple[float, float, float, float]:
    """A theme colour as Kivy wants it."""
    return (*channels(colour), alpha)


def paint(colour: str, alpha: float = 1.0) -> Color:
    """A theme colour as a canvas instruction."""
    return Color(*rgba(colour, alpha))


def type_px(look: Look, size_sp: float) -> float:
    """A type size in pixels, the player's text size included."""
    return float(sp(size_sp)) * look.text_scale


def _is_sign(character: str) -> bool:
    return character >= FIRST_SIGN and character != MINUS


def marked_up(text: str) -> str:
    """Text for a label with markup: escaped, and signs that Roboto lacks taken from the other font."""
    out: list[str] = []
    for character in text:
        if _is_sign(character):
            out.append(f"[font={SIGN_FONT}]{character}[/font]")
        else:
            out.append(escape_markup(character))
    return "".join(out).replace(f"[/font][font={SIGN_FONT}]", "")


@lru_cache(maxsize=1024)
def glyph(text: str, px: int, *, bold: bool = False) -> Texture:
    """A texture of white text, to be tinted; made once for each text and size."""
    font = SIGN_FONT if any(_is_sign(character) for character in text) else FONT
    label = CoreLabel(text=text, font_size=px, font_name=font, bold=bold and font == FONT)
    label.refresh()
    return label.texture


def width_of(text: str, px: float, *, bold: bool = False) -> float:
    """Width of a line of text in pixels."""
    return float(glyph(text, round(px), bold=bold).width) if text else 0.0


def write(
    group: InstructionGroup,
    text: str,
    at: tuple[float, float],
    *,
    px: float,
    colour: str,
    anchor: tuple[float, float] = (0.5, 0.5),
    bold: bool = False,
) -> None:
    """Add a line of text to a drawing; ``anchor`` (0 to 1 each) says which point of it lies at ``at``."""
    if not text:
        return
    texture = glyph(text, round(px), bold=bold)
    x, y = at[0] - anchor[0] * texture.width, at[1] - anchor[1] * texture.height
    group.add(paint(colour))
    group.add(Rectangle(texture=texture, size=texture.size, pos=(round(x), round(y))))


def fill_circle(group: InstructionGroup, centre: tuple[float, float], radius: float) -> None:
    """Add a filled circle with a smooth edge, in the colour added last.

    The edge is a smooth line: Kivy's own smooth shapes draw their edges past the end of a scrolled window.
    """
    x, y = centre
    inner = radius - EDGE_PX
    group.add(Ellipse(pos=(x - inner, y - inner), size=(2 * inner, 2 * inner)))
    group.add(SmoothLine(circle=(x, y, radius - EDGE_PX), width=EDGE_PX))


def fill_round(
    group: InstructionGroup, pos: tuple[float, float], size: tuple[float, float], radius: float
) -> None:
    """Add a filled rectangle with round corners (``radius`` in pixels), in the colour added last."""
    left, low, width, height, round_px = _inner(pos, size, radius)
    group.add(RoundedRectangle(pos=(left, low), size=(width, height), radius=[round_px], segments=12))
    group.add(SmoothLine(rounded_rectangle=_inner(pos, size, radius), width=EDGE_PX))


def _inner(pos: tuple[float, float], size: tuple[float, float], radius: float) -> tuple[float, ...]:
    """The line just inside an edge."""
    width, height = max(1.0, size[0] - 2 * EDGE_PX), max(1.0, size[1] - 2 * EDGE_PX)
    return (pos[0] + EDGE_PX, pos[1] + EDGE_PX, width, height, max(1.0, min(radius, width / 2, height / 2)))


EDGE_PX = 1.0


def note_shape(
    group: InstructionGroup,
    kind: LineKind,
    centre: tuple[float, float],
    radius: float,
    *,
    colour: str,
    filled: bool = True,
    alpha: float = 1.0,
    width: float = 2.0,
) -> None:
    """Add a note: a circle for melody, a square for bass, filled or in outline (``width`` in dp)."""
    x, y = centre
    group.add(paint(colour, alpha))
    if kind is LineKind.MELODY:
        if filled:
            fill_circle(group, centre, radius)
        else:
            group.add(SmoothLine(circle=(x, y, radius - dp(width) / 2), width=dp(width) / 2 + 0.2))
        return
    side = radius * 0.9
    if filled:
        group.add(
            RoundedRectangle(
                pos=(x - side, y - side), size=(2 * side, 2 * side), radius=[side * 0.22], segments=6
            )
        )
    else:
        inner = side - dp(width) / 2
        group.add(
            SmoothLine(
                rounded_rectangle=(x - inner, y - inner, 2 * inner, 2 * inner, inner * 0.22),
                width=dp(width) / 2 + 0.2,
            )
        )


def tick(group: InstructionGroup, centre: tuple[float, float], radius: float, colour: str) -> None:
    """Add the sign for “good enough” (✓), drawn."""
    x, y = centre
    points = [
        x - radius * 0.55, y + radius * 0.02,
        x - radius * 0.12, y - radius * 0.42,
        x + radius * 0.6, y + radius * 0.46,
    ]  # fmt: skip
    group.add(paint(colour))
    group.add(SmoothLine(points=points, width=max(1.2, radius * 0.13), cap="round", joint="round"))


def dashed(group: InstructionGroup, points: Iterable[float], colour: str, *, width: float = 1.0) -> None:
    """Add a straight dashed line (``points`` is x0, y0, x1, y1; ``width`` in pixels)."""
    x0, y0, x1, y1 = points
    length = max(1.0, ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5)
    step, dash = dp(10), dp(5)
    group.add(paint(colour))
    at = 0.0
    while at < length:
        a, b = at / length, min(1.0, (at + dash) / length)
        group.add(
            SmoothLine(
                points=[x0 + a * (x1 - x0), y0 + a * (y1 - y0), x0 + b * (x1 - x0), y0 + b * (y1 - y0)],
                width=width,
            )
        )
        at += step


def backdrop(widget: Widget, colour: str, *, radius_dp: float = 0.0) -> Color:
    """Put a filled, rounded ground behind a widget that follows it; the returned colour may be changed."""
    shade = paint(colour)
    if radius_dp:
        return _round_backdrop(widget, shade, float(dp(radius_dp)))
    shape = Rectangle(pos=widget.pos, size=widget.size)
    widget.canvas.before.add(shade)
    widget.canvas.before.add(shape)

    def follow(*_: object) -> None:
        shape.pos, shape.size = widget.pos, widget.size

    widget.bind(pos=follow, size=follow)
    return shade


def _round_backdrop(widget: Widget, shade: Color, radius: float) -> Color:
    fill = RoundedRectangle(pos=widget.pos, size=widget.size, radius=[radius], segments=12)
    edge = SmoothLine(width=EDGE_PX)
    for instruction in (shade, fill, edge):
        widget.canvas.before.add(instruction)

    def follow(*_: object) -> None:
        inner = _inner(widget.pos, widget.size, radius)
        fill.pos, fill.size = inner[:2], inner[2:4]
        edge.rounded_rectangle = inner

    widget.bind(pos=follow, size=follow)
    return shade


def draw_focus(widget: Widget, look: Look, *, radius_dp: float = 14) -> None:
    """Draw the ring of the keyboard around a widget while its ``focused`` is true."""
    group = InstructionGroup()
    widget.canvas.after.add(group)

    def draw(*_: object) -> None:
        group.clear()
        if widget.focused:
            group.add(paint(look.theme.focus))
            group.add(
                SmoothLine(
                    rounded_rectangle=(widget.x, widget.y, widget.width, widget.height, dp(radius_dp)),
                    width=dp(2),
                )
            )

    widget.bind(focused=draw, pos=draw, size=draw)
