"""``coach tune`` by its contract; strings computed by Fletcher's formula (see the tests of the tuner)."""

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from coach.music.tuning_system import midi_to_hz
from tests import synth
from tests.command_line import coach

KEYS = {"string", "target_midi", "cents", "steady", "at_s"}
CENT = 1.0


@pytest.fixture(scope="module")
def strings(tmp_path_factory: pytest.TempPathFactory) -> Path:
    parts = [
        (0.2, synth.pluck(midi_to_hz(40 - 0.18), 1.4, inharmonicity=1.3e-4)),
        (1.8, synth.pluck(midi_to_hz(59 + 0.06), 1.4, inharmonicity=6e-5)),
    ]
    path = tmp_path_factory.mktemp("tune") / "strings.flac"
    soundfile.write(path, synth.place(parts, 3.4), synth.RATE_HZ)
    return path


def test_a_list_of_strings(strings: Path, tmp_path: Path) -> None:
    code, out = coach(tmp_path, "tune", str(strings), "--json")
    assert code == 0
    (line,) = out.splitlines()
    low, high = json.loads(line)
    assert set(low) == set(high) == KEYS
    assert (low["string"], low["target_midi"], low["steady"]) == (6, 40, True)
    assert (high["string"], high["target_midi"], high["steady"]) == (2, 59, True)
    assert low["cents"] == pytest.approx(-18.0, abs=CENT)
    assert high["cents"] == pytest.approx(6.0, abs=CENT)
    assert 0.2 < low["at_s"] < 1.6
    assert 1.8 < high["at_s"] < 3.3


def test_another_tuning(strings: Path, tmp_path: Path) -> None:
    code, out = coach(tmp_path, "tune", str(strings), "--tuning", "D2,A2,D3,G3,B3,E4", "--json")
    assert code == 0
    low = json.loads(out)[0]
    assert (low["string"], low["target_midi"]) == (6, 38)
    assert low["cents"] == pytest.approx(182.0, abs=CENT)


def test_nothing_that_rings(tmp_path: Path) -> None:
    path = tmp_path / "noise.wav"
    soundfile.write(path, 0.01 * np.random.default_rng(1).standard_normal(32_000), 16_000)
    assert coach(tmp_path, "tune", str(path), "--json") == (0, "[]\n")
    code, out = coach(tmp_path, "tune", str(path))
    assert code == 0
    assert "pluck" in out


@pytest.mark.parametrize("tuning", ["E2,A2", "E2,A2,D3,G3,B3,H4", "E2 A2 D3 G3 B3 E4"])
def test_unknown_tunings_exit_2(strings: Path, tmp_path: Path, tuning: str) -> None:
    assert coach(tmp_path, "tune", str(strings), "--tuning", tuning, "--json") == (2, "")


def test_advice_in_words(strings: Path, tmp_path: Path) -> None:
    code, out = coach(tmp_path, "tune", str(strings))
    assert code == 0
    assert "string 6 (E2): -18" in out
    assert "tighten" in out
    assert "loosen" in out
