"""``coach survey`` by its contract, on a computed recording whose beats, key and tuning are known."""

import json
from pathlib import Path

import mir_eval
import numpy as np
import pytest
import soundfile

from coach.music.tuning_system import midi_to_hz
from tests.command_line import coach
from tests.synth import place, pluck

RATE_HZ = 22_050
BEATS_S = 0.5 + np.arange(0.0, 14.0, 0.7)
DETUNED_CENTS = 20.0
LEAST_F = 0.9
KEYS = [
    "input", "tempo_bpm", "beats_s", "bars_s", "meter", "tuning_cents", "notes_per_s", "voices",
    "melody_clarity", "bass_clarity", "checkable_share", "key", "advice", "reasons",
]  # fmt: skip


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    tune = (67, 69, 71, 74, 72, 71, 69, 67)
    roots = (43, 48, 50, 43)
    parts = []
    for count, time in enumerate(BEATS_S):
        parts.append((time, pluck(hz(tune[count % 8]), 0.65, rate_hz=RATE_HZ)))
        if count % 4 == 0:
            parts.append((time, pluck(hz(roots[count // 4 % 4]), 2.6, rate_hz=RATE_HZ)))
    path = tmp_path_factory.mktemp("survey") / "tune.wav"
    soundfile.write(path, 0.6 * place(parts, 16.0, rate_hz=RATE_HZ), RATE_HZ)
    return path


def hz(midi: int) -> float:
    return midi_to_hz(midi + DETUNED_CENTS / 100)


def test_a_first_listen(recording: Path, tmp_path: Path) -> None:
    code, told = coach(tmp_path, "survey", str(recording), "--json")
    value = json.loads(told)
    assert code == 0
    assert list(value) == KEYS
    assert mir_eval.beat.f_measure(BEATS_S, np.array(value["beats_s"])) >= LEAST_F
    assert value["tempo_bpm"] == pytest.approx(60 / 0.7, rel=0.03)
    assert set(value["bars_s"]) <= set(value["beats_s"])
    assert (value["meter"], value["key"]) == ("4/4", "G")
    assert value["tuning_cents"] == pytest.approx(DETUNED_CENTS, abs=5)
    assert value["advice"] in {"good first piece", "possible", "later"}
    assert 1 <= len(value["reasons"]) <= 3
    assert all(0 <= value[name] <= 1 for name in ("melody_clarity", "bass_clarity", "checkable_share"))
    assert coach(tmp_path, "survey", str(recording), "--json") == (0, told)


def test_text_for_people(recording: Path, tmp_path: Path) -> None:
    code, told = coach(tmp_path, "survey", str(recording))
    assert code == 0
    assert "beats a minute" in told
    assert "20 hundredths of a fret higher" in told or "hundredths of a fret" in told


def test_silence_is_an_answer(tmp_path: Path) -> None:
    path = tmp_path / "silence.wav"
    soundfile.write(path, np.zeros(3 * RATE_HZ), RATE_HZ)
    code, told = coach(tmp_path / "data", "survey", str(path), "--json")
    value = json.loads(told)
    assert code == 0
    assert (value["tempo_bpm"], value["meter"], value["key"]) == (None, None, None)
    assert (value["beats_s"], value["bars_s"], value["advice"]) == ([], [], "later")


def test_a_failed_input_does_not_stop_the_others(recording: Path, tmp_path: Path) -> None:
    broken = tmp_path / "broken.wav"
    broken.write_bytes(b"RIFF")
    code, told = coach(tmp_path / "data", "survey", str(broken), str(recording), "--json")
    values = [json.loads(text) for text in told.splitlines()]
    assert code == 1
    assert "error" in values[0]
    assert values[1]["input"] == str(recording)
