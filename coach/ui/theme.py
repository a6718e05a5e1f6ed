"""Colours, sizes and type as tokens. Knows no Kivy.

Two themes of our own: *evening* (dark) on a blue-green ink, *paper* (light) on a warm white. Melody is amber
and round, bass is blue and square: amber against blue stays apart under the common colour-vision
deficiencies, and the shape says it again. The tests hold the contrast of every pair that is drawn.
"""

from dataclasses import dataclass, fields

from coach.music.naming import Naming
from coach.practice.settings import Settings

SPACE_DP = 8
"""The unit of all spacing: gaps are multiples of it."""
TARGET_DP = 56
"""Least side of anything that is tapped (WCAG 2.2, 2.5.5 asks for 44 CSS pixels; a guitar is in the way)."""
DRILL_TARGET_DP = 72
"""Least side of a target in a drill, reached without looking."""
GRAB_DP = 48
"""Zone in which a drawn handle is caught."""
COLUMN_DP = 1040
"""Widest column of text and cards; wider windows get margins."""

BODY_SP = 18
SENTENCE_SP = 28
TITLE_SP = 22
NOTE_SP = 64
MARK_SP = 16
"""Words inside drawings: bar numbers, fret numbers, places in the rail."""

TEXT_CONTRAST = 4.5
"""WCAG 2.2, success criterion 1.4.3 (AA), text below 24 px."""
GRAPHIC_CONTRAST = 3.0
"""WCAG 2.2, success criterion 1.4.11, parts of a drawing that carry meaning."""


@dataclass(frozen=True, slots=True)
class Theme:
    """One set of colours, each ``#RRGGBB``, named by its role.

    Parameters
    ----------
    ground, surface, raised
        The page, a card on it, something on a card.
    text, quiet
        What is read first, and what is read second.
    outline
        Borders and rulers that carry meaning.
    action, on_action
        The one big action.
    focus
        The ring around what the keyboard would press.
    melody, on_melody, bass, on_bass
        Notes of the two lines and what is written on them.
    good, caution, wrong
        Answers; always with a word or a sign beside.
    voice
        The player's own pitch.
    neck, fret, string
        The fretboard.
    white_key, black_key, on_white_key
        Piano keys, and the names on the white ones.
    """

    name: str
    ground: str
    surface: str
    raised: str
    text: str
    quiet: str
    outline: str
    action: str
    on_action: str
    focus: str
    melody: str
    on_melody: str
    bass: str
    on_bass: str
    good: str
    caution: str
    wrong: str
    voice: str
    neck: str
    fret: str
    string: str
    white_key: str
    black_key: str
    on_white_key: str

    def colours(self) -> dict[str, str]:
        """Every colour by its role."""
        return {field.name: getattr(self, field.name) for field in fields(self) if field.name != "name"}


EVENING = Theme(
    name="evening",
    ground="#0F1A1E",
    surface="#18262B",
    raised="#22343A",
    text="#F3EEE3",
    quiet="#B4C1BE",
    outline="#879A98",
    action="#8FD6BF",
    on_action="#0B1F1A",
    focus="#FFF3C4",
    melody="#F4B860",
    on_melody="#2A1A02",
    bass="#86B6FF",
    on_bass="#07182F",
    good="#93D79B",
    caution="#F0D372",
    wrong="#FF9F8A",
    voice="#E3F1EC",
    neck="#2A2320",
    fret="#9A8F84",
    string="#C9C0B2",
    white_key="#C9C0B2",
    black_key="#131D21",
    on_white_key="#1B1A17",
)
"""The dark theme, the default at night."""

PAPER = Theme(
    name="paper",
    ground="#F5F0E6",
    surface="#FFFCF5",
    raised="#EBE3D4",
    text="#1C2528",
    quiet="#4E5B5B",
    outline="#6D7876",
    action="#0E6151",
    on_action="#FFFFFF",
    focus="#7A3E00",
    melody="#964F00",
    on_melody="#FFFFFF",
    bass="#1F57A8",
    on_bass="#FFFFFF",
    good="#22692F",
    caution="#755400",
    wrong="#A83220",
    voice="#22403A",
    neck="#E2D3BF",
    fret="#7D6C58",
    string="#5E5245",
    white_key="#FFFFFF",
    black_key="#1C2528",
    on_white_key="#1C2528",
)
"""The light theme."""

NIGHT_HOURS = (18, 8)
"""From the first hour until the second the dark theme is the default (our own choice)."""


def theme_for(hour: int, *, dark: bool | None) -> Theme:
    """The theme the player chose, or by the hour of the day (0 to 23) where none was chosen."""
    if dark is None:
        dark = hour >= NIGHT_HOURS[0] or hour < NIGHT_HOURS[1]
    return EVENING if dark else PAPER


@dataclass(frozen=True, slots=True)
class Look:
    """How everything is shown: handed to each widget when it is made.

    Parameters
    ----------
    text_scale
        1.0 to 1.5; multiplies every type size.
    reduced_motion
        Nothing moves that does not have to.
    """

    theme: Theme = EVENING
    text_scale: float = 1.0
    naming: Naming = Naming.ENGLISH
    left_handed: bool = False
    reduced_motion: bool = False


def channels(colour: str) -> tuple[float, float, float]:
    """Red, green and blue of ``#RRGGBB``, each 0 to 1 (sRGB, gamma-encoded)."""
    return (int(colour[1:3], 16) / 255, int(colour[3:5], 16) / 255, int(colour[5:7], 16) / 255)


def linear(channel: float) -> float:
    """Linear light of an sRGB channel (IEC 61966-2-1), 0 to 1."""
    return channel / 12.92 if channel <= 0.04045 else float(((channel + 0.055) / 1.055) ** 2.4)


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it, 0 to 1."""
    red, green, blue = (linear(channel) for channel in channels(colour))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio as WCAG 2.2 defines it, 1 to 21."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


USUAL_SIZE_DP = (1280, 800)
"""The tablet that everything is drawn for."""
MOST_ZOOM = 2.0


def zoom_for(width_dp: float, height_dp: float) -> float:
    """How much larger all is shown in a window far larger than a tablet's, 1 to 2.

    Many systems state a large screen's dots but not their density; at arm's length it must still be read.
    """
    wide, high = USUAL_SIZE_DP if width_dp >= height_dp else USUAL_SIZE_DP[::-1]
    return min(MOST_ZOOM, max(1.0, min(width_dp / wide, height_dp / high)))


def look_of(settings: Settings, hour: int) -> Look:
    """How things are shown, by the player's settings and the hour of the day."""
    return Look(
        theme=theme_for(hour, dark=settings.dark),
        text_scale=min(1.5, max(1.0, settings.text_scale)),
        naming=settings.naming,
        left_handed=settings.left_handed,
        reduced_motion=settings.reduced_motion,
    )
