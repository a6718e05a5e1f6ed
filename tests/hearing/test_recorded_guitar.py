"""Recorded guitar notes (rendered at test time), judged by mir_eval against the score that was rendered."""

import mir_eval
import numpy as np
import pytest
from numpy.typing import NDArray

from coach.hearing.engines import engine_named
from coach.hearing.listening import listen
from coach.music.tuning_system import midi_to_hz
from tests import synth
from tests.soundfont import NYLON, STEEL, recorded

pytestmark = pytest.mark.recorded
BAR = {"clean": 0.97, "pink 20 dB": 0.93, "pink 10 dB": 0.88}
"""Note F1 that this project asks of itself, onset within 50 ms and pitch within 50 cents."""
MIDIS = [40, 45, 47, 52, 52, 57, 59, 60, 64, 67, 69, 72, 76, 79, 83]


def in_noise(sound: NDArray[np.float32], below_db: float) -> NDArray[np.float32]:
    level = float(np.sqrt(np.mean(sound**2)))
    return sound + synth.pink_noise(len(sound) / 48_000, rms=level * 10 ** (-below_db / 20))[: len(sound)]


@pytest.mark.parametrize("program", [NYLON, STEEL])
@pytest.mark.parametrize("condition", list(BAR))
def test_notes_of_a_recorded_guitar(program: int, condition: str) -> None:
    score = [(midi, 0.4 + 0.42 * i, 0.4 + 0.42 * i + 0.40) for i, midi in enumerate(MIDIS)]
    sound = 0.5 * recorded(score, program=program)
    sound /= max(1.0, float(np.abs(sound).max()))
    if condition != "clean":
        sound = in_noise(sound, float(condition.split()[1]))
    notes = listen(sound.astype(np.float32), 48_000, engine=engine_named("neural"), source="guitar").notes
    true = np.array([[on, off] for _, on, off in score])
    true_hz = np.array([midi_to_hz(midi) for midi, _, _ in score])
    found = np.array([[n.span.start_s, n.span.end_s] for n in notes])
    found_hz = np.array([midi_to_hz(n.midi + n.cents / 100) for n in notes])
    _, _, f1, _ = mir_eval.transcription.precision_recall_f1_overlap(
        true, true_hz, found, found_hz, offset_ratio=None
    )
    assert f1 >= BAR[condition]
    assert not any(abs(n.midi - m) % 12 == 0 and n.midi != m for n, m in zip(notes, MIDIS, strict=False))


@pytest.mark.parametrize("interval", [12, 19, 24])
def test_a_string_over_a_ringing_one_whose_partials_it_shares(interval: int) -> None:
    for low in (49, 52):
        sound = recorded([(low, 0.2, 1.9), (low + interval, 0.75, 1.9)])
        sound *= 0.4 / float(np.abs(sound).max())
        heard = listen(sound, 48_000, engine=engine_named("neural"), source="guitar")
        assert [note.midi for note in heard.notes] == [low, low + interval]
