"""The colours against published measures."""

from itertools import combinations, product

import numpy as np
import pytest

from coach.ui.theme import (
    EVENING,
    GRAPHIC_CONTRAST,
    PAPER,
    TEXT_CONTRAST,
    Theme,
    channels,
    contrast,
    linear,
    theme_for,
)

THEMES = (EVENING, PAPER)
GROUNDS = ("ground", "surface", "raised")
# Machado, Oliveira and Fernandes 2009, "A Physiologically-based Model for Simulation of Color Vision
# Deficiency", IEEE TVCG 15(6), table 1, severity 1.0; applied to linear RGB.
DEFICIENCIES = {
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}
LEAST_DISTANCE = 20.0
"""CIE 1976 colour difference; about 2.3 is just noticeable (Sharma 2003), ten times that is plain."""


def lab(linear_rgb: np.ndarray) -> np.ndarray:
    """CIELAB (CIE 15:2004) of linear sRGB (IEC 61966-2-1), white D65."""
    to_xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    xyz = to_xyz @ np.clip(linear_rgb, 0, 1) / np.array([0.9505, 1.0, 1.089])
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def seen(colour: str, matrix: object) -> np.ndarray:
    return lab(np.asarray(matrix) @ np.array([linear(channel) for channel in channels(colour)]))


def test_contrast_gives_the_published_extremes() -> None:
    # WCAG 2.2: black on white is 21:1, and #767676 on white is the known grey that just passes 4.5:1.
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert contrast("#767676", "#FFFFFF") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
def test_text_can_be_read(theme: Theme) -> None:
    pairs = list(product(("text", "quiet", "good", "caution", "wrong", "melody", "bass"), GROUNDS))
    pairs += [
        ("on_action", "action"),
        ("on_melody", "melody"),
        ("on_bass", "bass"),
        ("text", "neck"),
        ("on_white_key", "white_key"),
    ]
    for front, back in pairs:
        assert contrast(getattr(theme, front), getattr(theme, back)) >= TEXT_CONTRAST, (front, back)


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
def test_drawings_can_be_seen(theme: Theme) -> None:
    pairs = list(product(("outline", "melody", "bass", "action", "focus", "voice"), GROUNDS))
    pairs += [("melody", "neck"), ("bass", "neck"), ("fret", "neck"), ("string", "neck"), ("focus", "neck")]
    pairs += [("white_key", "black_key")]
    for front, back in pairs:
        assert contrast(getattr(theme, front), getattr(theme, back)) >= GRAPHIC_CONTRAST, (front, back)


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
def test_a_note_on_a_piano_key_can_be_seen_by_itself_or_by_its_ring(theme: Theme) -> None:
    for line, key in product((theme.melody, theme.bass), (theme.white_key, theme.black_key)):
        assert max(contrast(line, key), contrast(theme.ground, key)) >= GRAPHIC_CONTRAST


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
@pytest.mark.parametrize("deficiency", [None, *DEFICIENCIES])
def test_melody_and_bass_stay_apart_in_every_colour_vision(theme: Theme, deficiency: str | None) -> None:
    matrix = np.eye(3) if deficiency is None else DEFICIENCIES[deficiency]
    for one, other in combinations(("melody", "bass", "ground"), 2):
        distance = np.linalg.norm(seen(getattr(theme, one), matrix) - seen(getattr(theme, other), matrix))
        assert distance >= LEAST_DISTANCE, (one, other)


def test_the_night_is_dark_unless_the_player_says_otherwise() -> None:
    assert theme_for(22, dark=None) is EVENING
    assert theme_for(12, dark=None) is PAPER
    assert theme_for(22, dark=False) is PAPER
    assert theme_for(12, dark=True) is EVENING
