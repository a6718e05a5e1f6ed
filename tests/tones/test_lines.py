"""The other line, played by the app."""

from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest

from coach.music import Key, Meter, Pitch
from coach.notation import Arrangement, Line, LineKind, Note
from coach.tones.lines import arrangement_sound, line_notes, line_sound, panned

RATE_HZ = 22_050


def _arrangement() -> Arrangement:
    melody = Line(
        LineKind.MELODY,
        tuple(Note(Fraction(i), Fraction(1), Pitch.from_midi(m)) for i, m in enumerate((62, 64, 66, 67, 69))),
    )
    bass = Line(
        LineKind.BASS,
        (
            Note(Fraction(1), Fraction(2), Pitch.parse("D3")),
            Note(Fraction(3), Fraction(2), Pitch.parse("A2")),
        ),
    )
    return Arrangement("Test", Meter(2, 4), Key("D", 0), 60.0, melody, bass, pickup=Fraction(1))


def test_notes_come_in_time_from_where_it_starts() -> None:
    notes = line_notes(_arrangement().melody, 120.0, start=Fraction(1), end=Fraction(3))
    assert [note.midi for note in notes] == [64, 66]
    assert [note.start_s for note in notes] == [0.0, 0.5]
    assert all(note.end_s <= at for note, at in zip(notes, (0.5, 1.0), strict=True))


@pytest.mark.parametrize("tempo", [30.0, 60.0, 144.0])
def test_a_line_lasts_exactly_as_long_as_its_quarters(tempo: float) -> None:
    samples = line_sound(_arrangement().melody, tempo, RATE_HZ)
    assert len(samples) == round(5 * 60 / tempo * RATE_HZ)


def test_melody_and_bass_lie_apart() -> None:
    both = arrangement_sound(_arrangement(), RATE_HZ)
    melody = arrangement_sound(_arrangement(), RATE_HZ, lines=(LineKind.MELODY,))
    bass = arrangement_sound(_arrangement(), RATE_HZ, lines=(LineKind.BASS,))
    assert both.shape == melody.shape == bass.shape == (5 * RATE_HZ, 2)
    energy = lambda sound: (sound.astype(np.float64) ** 2).sum(axis=0)  # noqa: E731
    assert energy(melody)[1] > 2 * energy(melody)[0]
    assert energy(bass)[0] > 2 * energy(bass)[1]
    assert np.abs(both).max() <= 0.501


def test_count_in_and_clicks_fall_on_beats_with_the_upbeat_before_the_bar() -> None:
    plain = arrangement_sound(_arrangement(), RATE_HZ, lines=(), counted=True, clicking=True)
    assert plain.shape[0] == 7 * RATE_HZ
    loud = np.flatnonzero(np.abs(plain[:, 0]) > 0.05) / RATE_HZ
    starts = [loud[0], *(b for a, b in pairwise(loud) if b - a > 0.3)]
    assert starts == pytest.approx([0, 1, 2, 3, 4, 5, 6], abs=0.003)


def test_panning_keeps_the_power() -> None:
    mono = np.array([0.5, -0.25], np.float32)
    for pan in (-1.0, -0.3, 0.0, 1.0):
        np.testing.assert_allclose((panned(mono, pan) ** 2).sum(axis=1), mono**2, rtol=1e-5)
