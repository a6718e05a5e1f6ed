"""Evidence on computed two-line pieces: right where it must be, robust, quick to ask, kept without loss.

Notes and times are drawn here, so the truth is exact. The shares asked for are this project's own bars.
"""

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from coach.errors import CancelledError, UnreadableFileError
from coach.hearing.evidence import (
    EvidenceModel,
    RecordingAnalysis,
    SettledNote,
    analyse,
    clarity,
    evidence,
)
from coach.music import Span
from coach.music.tuning_system import midi_to_hz
from coach.notation import LineKind
from coach.pieces.verdicts import Outcome, judge
from tests.synth import pluck

RATE = 44100
MELODY = (64, 67, 69, 72, 71, 67, 65, 64, 62, 64)
BASS = (48, 41, 43, 48, 43)
BEAT_S = 0.5


@cache
def model() -> EvidenceModel:
    return EvidenceModel.from_json((Path(__file__).parents[2] / "assets" / "evidence.json").read_bytes())


@cache
def piece(cents: float = 0.0) -> np.ndarray:
    out = np.zeros(int((len(MELODY) * BEAT_S + 1) * RATE), np.float32)
    for step, notes, level in ((BEAT_S, MELODY, 0.4), (2 * BEAT_S, BASS, 0.35)):
        for k, midi in enumerate(notes):
            sound = pluck(midi_to_hz(midi + cents / 100), step, rate_hz=RATE, level=level)
            at = int((0.3 + k * step) * RATE)
            out[at : at + len(sound)] += sound
    return out


@cache
def analysis(cents: float = 0.0) -> RecordingAnalysis:
    return analyse(piece(cents), RATE)


def spans(line: LineKind) -> list[tuple[Span, int]]:
    step, notes = (BEAT_S, MELODY) if line is LineKind.MELODY else (2 * BEAT_S, BASS)
    return [(Span(0.3 + k * step, 0.3 + (k + 1) * step), midi) for k, midi in enumerate(notes)]


@pytest.mark.parametrize("cents", [0.0, 30.0])
@pytest.mark.parametrize("line", list(LineKind))
def test_true_notes_are_heard_and_wrong_ones_are_not(line: LineKind, cents: float) -> None:
    true = [judge(evidence(analysis(cents), model(), line, s), m).outcome for s, m in spans(line)]
    assert sum(o is Outcome.HEARD for o in true) >= 0.8 * len(true)
    for span, midi in spans(line):
        found = evidence(analysis(cents), model(), line, span)
        for wrong in (midi - 12, midi - 2, midi - 1, midi + 1, midi + 2, midi + 12, midi + 5):
            assert judge(found, wrong).outcome is not Outcome.HEARD


@pytest.mark.parametrize("shift_s", [-0.1, 0.1])
def test_marks_a_tenth_of_a_second_off_are_forgiven(shift_s: float) -> None:
    right = 0
    for span, midi in spans(LineKind.MELODY):
        moved = Span(max(0.0, span.start_s + shift_s), span.end_s + shift_s)
        outcome = judge(evidence(analysis(), model(), LineKind.MELODY, moved), midi).outcome
        assert outcome is not Outcome.NOT_HEARD
        right += outcome is Outcome.HEARD
    assert right >= 0.7 * len(MELODY)


def test_a_posterior_is_a_distribution() -> None:
    found = evidence(analysis(), model(), LineKind.BASS, Span(1.0, 1.4))
    for part in (found.posterior, found.earlier, found.later):
        assert sum(part) == pytest.approx(1.0)
        assert min(part) >= 0.0
    assert 0.0 <= found.reliability <= 1.0


def test_a_settled_bass_note_explains_its_own_pitch_away() -> None:
    span = spans(LineKind.MELODY)[0][0]
    without = evidence(analysis(), model(), LineKind.MELODY, span)
    settled = (SettledNote(Span(0.3, 1.3), 48),)
    with_bass = evidence(analysis(), model(), LineKind.MELODY, span, other_line=settled)
    assert with_bass.of(48) <= without.of(48)
    assert with_bass.of(64) >= without.of(64)


def test_silence_and_spans_past_the_end_tell_nothing() -> None:
    silent = analyse(np.zeros(RATE, np.float32), RATE)
    assert not evidence(silent, model(), LineKind.MELODY, Span(0.2, 0.6)).sounding
    assert not evidence(analysis(), model(), LineKind.MELODY, Span(100.0, 100.5)).sounding


def test_the_loudness_of_a_recording_does_not_matter() -> None:
    quiet = analyse(piece() * np.float32(0.05), RATE)
    for span, midi in spans(LineKind.MELODY)[:4]:
        loud, soft = (evidence(a, model(), LineKind.MELODY, span).of(midi) for a in (analysis(), quiet))
        assert soft == pytest.approx(loud, abs=0.05)


def test_an_analysis_is_kept_without_loss() -> None:
    kept = RecordingAnalysis.from_bytes(analysis().to_bytes())
    span = Span(1.3, 1.8)
    assert evidence(kept, model(), LineKind.MELODY, span) == evidence(
        analysis(), model(), LineKind.MELODY, span
    )
    for broken in (b"", b"nothing", analysis().to_bytes()[:500]):
        with pytest.raises(UnreadableFileError):
            RecordingAnalysis.from_bytes(broken)


def test_an_analysis_tells_its_progress_and_can_be_stopped() -> None:
    told: list[float] = []
    analyse(piece(), RATE, progress=told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0
    with pytest.raises(CancelledError):
        analyse(piece(), RATE, cancelled=lambda: True)


def test_odd_recordings_are_refused_or_survived() -> None:
    with pytest.raises(UnreadableFileError):
        analyse(np.zeros(0, np.float32), RATE)
    with pytest.raises(ValueError, match="one channel"):
        analyse(np.zeros((10, 2), np.float32), RATE)
    with pytest.raises(ValueError, match="kHz"):
        analyse(np.zeros(10, np.float32), 100)
    tiny = analyse(np.ones(10, np.float32), 8000)
    assert len(evidence(tiny, model(), LineKind.BASS, Span(0.0, 0.1)).posterior) == 73


def test_a_damaged_model_says_so() -> None:
    for broken in (b"", b"{}", b'{"format": 99}'):
        with pytest.raises(UnreadableFileError):
            EvidenceModel.from_json(broken)


def test_a_clear_piece_is_clear() -> None:
    clear = clarity(analysis(), model())
    noise = np.random.default_rng(0).normal(0, 0.1, 4 * RATE).astype(np.float32)
    muddy = clarity(analyse(noise, RATE), model())
    assert clear.melody > muddy.melody
    assert clear.checkable_share > muddy.checkable_share
    assert 0.0 <= muddy.checkable_share <= clear.checkable_share <= 1.0
