"""Spectra, activations and tuning against published definitions and scipy's reference solvers."""

import numpy as np
import pytest
from scipy.optimize import nnls
from scipy.signal import decimate

from coach.hearing.evidence.activations import LOWEST_MIDI, activations, templates
from coach.hearing.evidence.features import whitened
from coach.hearing.evidence.spectrum import (
    BINS_PER_SEMITONE,
    GRID_BINS,
    GRID_LOW_MIDI,
    HOP_S,
    WINDOWS_S,
    log_frequency,
    magnitudes,
    thinned,
    window_samples,
)
from coach.hearing.tuning_offset import tuning_offset
from coach.music.tuning_system import midi_to_hz
from tests.synth import pluck

CENTS_TOLERANCE = 3.0
"""Two thirds of the just noticeable difference of 5 to 6 cents (Loeffler 2006)."""
NNLS_TOLERANCE = 0.02
"""Relative excess of the residual over the exact solution's; chosen before the first run."""


def sine(hz: float, rate_hz: int, length_s: float = 1.0) -> np.ndarray:
    return np.sin(2 * np.pi * hz * np.arange(int(length_s * rate_hz)) / rate_hz).astype(np.float32)


@pytest.mark.parametrize("rate_hz", [8000, 16000, 22050, 44100, 48000, 96000])
@pytest.mark.parametrize("midi", [45, 69, 93])
def test_a_sine_of_full_scale_shows_at_its_own_bin_and_level(rate_hz: int, midi: int) -> None:
    thin, rate = thinned(sine(midi_to_hz(midi), rate_hz), rate_hz)
    size = window_samples(WINDOWS_S[0], rate)
    grid = log_frequency(magnitudes(thin, rate, WINDOWS_S[0], 20, 1), rate / size)[0]
    assert np.argmax(grid) == (midi - GRID_LOW_MIDI) * BINS_PER_SEMITONE
    # The Hann window's scalloping loss is at most 1.42 dB (Harris 1978, table 1).
    assert 10 ** (-1.5 / 20) <= grid.max() <= 1.01


def test_thinning_agrees_with_scipy() -> None:
    rng = np.random.default_rng(1)
    time = np.arange(48000) / 48000
    sound = sum(np.sin(2 * np.pi * hz * time + rng.uniform(0, 6)) for hz in (110.0, 1000.0, 5000.0))
    ours, rate = thinned(sound.astype(np.float32), 48000)
    assert rate == 24000
    theirs = decimate(sound, 2, ftype="fir", zero_phase=True)
    assert np.abs(ours[200:-200] - theirs[200:-200]).max() < 0.05


def test_what_lies_above_half_the_new_rate_is_gone() -> None:
    thin, _ = thinned(sine(15000.0, 48000), 48000)
    assert np.abs(thin[100:-100]).max() < 0.01


def test_frames_are_centred_on_multiples_of_the_hop() -> None:
    click = np.zeros(22050, np.float32)
    click[int(12 * HOP_S * 22050)] = 1.0
    levels = magnitudes(click, 22050, WINDOWS_S[2], 0, 30).max(axis=1)
    assert np.argmax(levels) == 12


def test_the_multiplicative_fit_is_as_good_as_an_exact_one() -> None:
    """Against scipy's active-set solver (Lawson & Hanson 1974)."""
    rng = np.random.default_rng(3)
    shapes = templates()
    for _ in range(5):
        mix = np.zeros(len(shapes))
        mix[rng.choice(len(shapes), 4, replace=False)] = rng.uniform(0.3, 1.0, 4)
        target = mix @ shapes + 0.01 * rng.random(shapes.shape[1])
        ours = activations((target ** (1 / 0.7))[None].astype(np.float32))[0]
        _, best = nnls(shapes.T.astype(float), target)
        assert (ours >= 0).all()
        assert np.linalg.norm(target - ours @ shapes) <= best + NNLS_TOLERANCE * np.linalg.norm(target)


def test_a_plucked_note_activates_its_own_pitch_most() -> None:
    for midi in (40, 52, 64, 76):
        size = window_samples(WINDOWS_S[0], 22050)
        spectrum = magnitudes(pluck(midi_to_hz(midi), 1.0, rate_hz=22050), 22050, WINDOWS_S[0], 12, 1)
        found = activations(log_frequency(spectrum, 22050 / size))[0]
        assert LOWEST_MIDI + int(np.argmax(found)) == midi


def test_whitening_takes_a_broad_equaliser_out() -> None:
    rng = np.random.default_rng(0)
    levels = rng.normal(-40, 8, (1, GRID_BINS)).astype(np.float32)
    tilt = np.linspace(0, 12, GRID_BINS).astype(np.float32)
    changed = whitened(levels + tilt) - whitened(levels)
    assert np.abs(changed[:, 40:-40]).max() < 0.1


@pytest.mark.parametrize("cents", [-40.0, -20.0, 0.0, 15.0, 35.0])
def test_the_tuning_offset_of_plucks_is_found(cents: float) -> None:
    notes = [
        pluck(midi_to_hz(m + cents / 100), 0.5, rate_hz=44100, inharmonicity=1e-5)
        for m in (52, 55, 60, 64, 67)
    ]
    assert tuning_offset(np.concatenate(notes), 44100) == pytest.approx(cents, abs=CENTS_TOLERANCE)


def test_silence_has_no_tuning() -> None:
    assert tuning_offset(np.zeros(100, np.float32), 44100) == 0.0
