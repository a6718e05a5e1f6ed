"""Prompts: pitch by Praat, peak, silent and soft edges, matched loudness."""

import math

import numpy as np
import parselmouth
import pytest

from coach.tones.loudness import a_weighting, weighted_rms
from coach.tones.patterns import count_in, drone_notes
from coach.tones.prompt import PromptClick, PromptNote, Timbre
from coach.tones.rendering import click, render

RATE_HZ = 44_100
PITCH_TOLERANCE_CENTS = 1.0
"""A fifth of the just noticeable difference of trained listeners (Zwicker and Fastl: some 5 cents)."""
PEAK_DBFS = -6.0
EDGE_STEP = 0.02
"""Share of the peak that two neighbouring samples may differ by in the first and last millisecond."""
LOUDNESS_TOLERANCE_DB = 3.0
"""Half of the 6 dB that common practice calls a clear difference; from memory."""


def _praat_hz(samples: np.ndarray, hz: float) -> float:
    """Median of Praat's autocorrelation pitch (Boersma 1993) with narrow limits and a long window."""
    sound = parselmouth.Sound(samples.astype(np.float64), RATE_HZ)
    pitch = sound.to_pitch_ac(
        time_step=0.01, pitch_floor=hz * 0.8, pitch_ceiling=hz * 1.25, very_accurate=True
    )
    found = pitch.selected_array["frequency"]
    return float(np.median(found[found > 0]))


@pytest.mark.parametrize("timbre", list(Timbre))
@pytest.mark.parametrize("a4_hz", [440.0, 415.0])
def test_every_note_has_its_pitch(timbre: Timbre, a4_hz: float) -> None:
    for midi in range(36, 89, 4):
        expected_hz = a4_hz * 2 ** ((midi - 69) / 12)  # ISO 16, equal temperament
        samples = render([PromptNote(midi, 0.0, 1.2)], timbre, RATE_HZ, a4_hz=a4_hz)
        cents = 1200 * math.log2(_praat_hz(samples, expected_hz) / expected_hz)
        assert abs(cents) <= PITCH_TOLERANCE_CENTS, (timbre, midi, cents)


@pytest.mark.parametrize("timbre", list(Timbre))
@pytest.mark.parametrize("length_s", [0.08, 0.4, 2.0])
def test_no_clip_and_no_click(timbre: Timbre, length_s: float) -> None:
    for midi in (28, 40, 57, 76, 93):
        samples = render([PromptNote(midi, 0.0, length_s)], timbre, RATE_HZ)
        peak = float(np.abs(samples).max())
        assert 20 * math.log10(peak) <= PEAK_DBFS
        assert samples[0] == 0.0
        assert abs(float(samples[-1])) < 1e-4
        millisecond = RATE_HZ // 1000
        steps = np.abs(np.diff(samples.astype(np.float64)))
        assert steps[:millisecond].max() <= EDGE_STEP * peak + 1e-6
        assert steps[-millisecond:].max() <= EDGE_STEP * peak + 1e-6


def test_chords_are_turned_down_and_not_clipped() -> None:
    chord = [PromptNote(midi, 0.0, 2.0, gain_db=12.0) for midi in (40, 47, 52, 56, 59, 64)]
    samples = render(chord, Timbre.DEEP, RATE_HZ)
    peak = float(np.abs(samples).max())
    assert 20 * math.log10(peak) <= PEAK_DBFS
    assert np.count_nonzero(np.abs(samples) >= peak * 0.9999) < 5


def test_loudness_is_matched_between_instruments_and_registers() -> None:
    levels = [
        20 * math.log10(weighted_rms(render([PromptNote(midi, 0.0, 0.4)], timbre, RATE_HZ), RATE_HZ))
        for timbre in (Timbre.PLUCK, Timbre.PIANO, Timbre.VOICE, Timbre.REED)
        for midi in range(45, 82, 3)
    ]
    assert max(levels) - min(levels) <= LOUDNESS_TOLERANCE_DB


@pytest.mark.parametrize(
    ("hz", "db"), [(63.1, -26.2), (100.0, -19.1), (501.2, -3.2), (1000.0, 0.0), (3981.0, 1.0), (7943.0, -1.1)]
)
def test_a_weighting_follows_the_standard(hz: float, db: float) -> None:
    # IEC 61672-1, table of A-weighting at exact third-octave frequencies; given there to 0.1 dB.
    assert 20 * math.log10(float(a_weighting(np.array([hz]))[0])) == pytest.approx(db, abs=0.1)


def test_a_note_with_its_own_timbre_and_gain_keeps_them() -> None:
    loud = render([PromptNote(60, 0.0, 1.0)], Timbre.PIANO, RATE_HZ)
    soft = render([PromptNote(60, 0.0, 1.0, Timbre.PIANO, -20.0)], Timbre.PLUCK, RATE_HZ)
    np.testing.assert_allclose(soft, loud * 0.1, atol=1e-6)


def test_clicks_lie_where_they_are_asked_for() -> None:
    samples = render([], Timbre.PLUCK, RATE_HZ, clicks=[PromptClick(0.5, accent=True), PromptClick(1.0)])
    loud = np.flatnonzero(np.abs(samples) > 0.05) / RATE_HZ
    assert loud.min() == pytest.approx(0.5, abs=0.003)
    assert loud[loud > 0.8].min() == pytest.approx(1.0, abs=0.003)
    assert not np.array_equal(click(RATE_HZ), click(RATE_HZ, accent=True))


def test_count_in_is_one_bar_with_an_accent() -> None:
    clicks = count_in(3, 90.0, start_s=1.0)
    assert [round(c.at_s, 3) for c in clicks] == [1.0, 1.667, 2.333]
    assert [c.accent for c in clicks] == [True, False, False]


def test_drone_holds_the_home_note_its_fifth_and_octave() -> None:
    assert [note.midi for note in drone_notes(50, 0.0, 4.0)] == [50, 57, 62]


def test_nothing_gives_a_moment_of_silence() -> None:
    assert not render([], Timbre.PLUCK, RATE_HZ).any()


def test_wrong_notes_are_misuse() -> None:
    with pytest.raises(ValueError, match="end after"):
        PromptNote(60, 1.0, 1.0)
    with pytest.raises(ValueError, match="no such note"):
        PromptNote(200, 0.0, 1.0)
