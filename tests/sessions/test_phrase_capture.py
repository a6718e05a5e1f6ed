"""Phrases sung and played into the (scripted) microphone while the recording's time goes by."""

from collections.abc import Callable
from datetime import date
from fractions import Fraction
from random import Random

import mir_eval
import numpy as np
import pytest

from coach.music import BeatGrid
from coach.music.tuning_system import midi_to_hz
from coach.notation import LineKind
from coach.practice.events import GridSet
from coach.practice.piece_state import PieceState
from coach.sessions.piece.phrase_capture import LAST_NOTE_S, PhraseCapture, SilentPass, written
from coach.tones.learner import Manner, plucked, sung
from coach.tones.prompt import PromptNote
from tests.sessions.test_listener import Room

TEMPO_BPM = 70.0
SPEED = 0.7
"""The loop runs slowed; the player goes along with it."""
HUMAN = Manner(timing_s=0.02)
"""A steady amateur's onsets. Common practice, no source."""
RIGHT_PITCHES, RIGHT_RHYTHM = 0.95, 0.90
"""What a player may expect of a phrase of theirs, written down (the product's own bar)."""
LENGTHS = [Fraction(1), Fraction(1), Fraction(2), Fraction(1, 2), Fraction(3, 2), Fraction(1)]


def a_line(rng: Random, low: int, *, bars: int = 8) -> list[tuple[Fraction, Fraction, int]]:
    """A line of eight bars in 4/4 on the major scale without repeated notes."""
    scale, place, at, notes = [0, 2, 4, 5, 7, 9, 11, 12], 2, Fraction(0), []
    while at < 4 * bars:
        length = min(rng.choice(LENGTHS), 4 * bars - at)
        place = min(7, max(0, place + rng.choice([-2, -1, 1, 2])))
        if notes and notes[-1][2] == low + scale[place]:
            place += 1 if place < 7 else -1
        notes.append((at, length, low + scale[place]))
        at += length
    return notes


def a_piece() -> PieceState:
    grid = BeatGrid.steady(TEMPO_BPM, 1.5)
    event = GridSet("p", "4/4", Fraction(0), grid.quarters, grid.seconds)
    return PieceState("p", "Ferry Bell", date(2031, 5, 4), grid=event)


def captured(
    play: Callable[..., np.ndarray], notes: list[tuple[Fraction, Fraction, int]], kind: LineKind, seed: int
) -> list[tuple[Fraction, Fraction, int]]:
    room, grid = Room(headphones=True), BeatGrid.steady(TEMPO_BPM, 1.5)
    room.listener.attend("voice" if play is sung else "guitar")
    end_s = grid.second_of(notes[-1][0] + notes[-1][1])
    along = SilentPass(room.clock, 0.0, end_s + 0.4, SPEED)
    capture = PhraseCapture(room.listener, lambda: along.position_s)
    prompt = [
        PromptNote(midi, grid.second_of(at) / SPEED, grid.second_of(at + length * Fraction(95, 100)) / SPEED)
        for at, length, midi in notes
    ]
    room.microphone.say(play(prompt, room.microphone.rate_hz, Random(seed), manner=HUMAN))
    room.let_pass(end_s / SPEED + 0.5)
    found = written(a_piece(), kind, capture.stop())
    room.listener.stop()
    return [(n.onset, n.duration, n.midi) for n in found]


def onset_f1(meant: list[tuple[Fraction, Fraction, int]], got: list[tuple[Fraction, Fraction, int]]) -> float:
    """mir_eval's transcription score of onsets and pitches (offsets apart), quarters taken as seconds."""

    def arrays(notes: list[tuple[Fraction, Fraction, int]]) -> tuple[np.ndarray, np.ndarray]:
        spans = np.array([[float(at), float(at + length)] for at, length, _ in notes])
        return spans, np.array([midi_to_hz(midi) for _, _, midi in notes])

    return float(
        mir_eval.transcription.precision_recall_f1_overlap(*arrays(meant), *arrays(got), offset_ratio=None)[2]
    )


@pytest.mark.parametrize(
    ("play", "kind", "low"),
    [(sung, LineKind.MELODY, 52), (plucked, LineKind.MELODY, 60), (plucked, LineKind.BASS, 40)],
    ids=["sung melody", "played melody", "played bass"],
)
def test_eight_bars_are_written_as_they_were_meant(
    play: Callable[..., np.ndarray], kind: LineKind, low: int
) -> None:
    meant = a_line(Random(5), low)
    got = captured(play, meant, kind, seed=6)
    placed = {(at, midi): length for at, length, midi in got}
    pitches = sum((at, midi) in placed for at, _, midi in meant) / len(meant)
    rhythm = sum(placed.get((at, midi)) == length for at, length, midi in meant) / len(meant)
    assert pitches >= RIGHT_PITCHES
    assert rhythm >= RIGHT_RHYTHM
    assert onset_f1(meant, got) >= RIGHT_PITCHES


def test_the_fullest_pass_of_a_loop_counts() -> None:
    room = Room(headphones=True)
    began = room.clock.steady_s()
    capture = PhraseCapture(room.listener, lambda: (room.clock.steady_s() - began) % 2.0)
    room.let_pass(2.0)  # the first time round the player only listens
    room.microphone.say(plucked([PromptNote(55, 0.5, 1.0), PromptNote(57, 1.0, 1.5)], 48000, Random(1)))
    room.let_pass(2.6)
    heard = capture.stop()
    assert [note.midi for note in heard] == [55, 57]
    assert heard[0].span.start_s == pytest.approx(0.5, abs=0.06)


def test_a_loudspeaker_that_plays_the_tune_writes_nothing() -> None:
    room = Room()
    tune = plucked(
        [PromptNote(m, 0.2 + i * 0.5, 0.6 + i * 0.5) for i, m in enumerate((64, 62, 60))], 48000, Random(2)
    )
    room.output.play(tune, 48000)
    room.microphone.say(tune)
    capture = PhraseCapture(room.listener, room.clock.steady_s)
    room.let_pass(len(tune) / 48000 + 0.1)
    assert capture.stop() == ()


def test_a_note_that_still_sounds_when_the_phrase_is_ended_is_written_too() -> None:
    room = Room()
    room.microphone.say(plucked([PromptNote(55, 0.3, 0.8), PromptNote(57, 0.8, 4.0)], 48000, Random(1)))
    capture = PhraseCapture(room.listener, room.clock.steady_s)
    room.let_pass(1.6)
    heard = capture.stop()
    assert [note.midi for note in heard] == [55, 57]
    assert heard[-1].span.end_s == pytest.approx(1.6, abs=0.1)


def test_a_last_note_has_time_to_end_after_the_silent_pass() -> None:
    room = Room()
    along = SilentPass(room.clock, 0.0, 1.0, 0.5)
    room.clock.sleep(2.01)
    assert along.position_s is None
    assert not along.over
    room.clock.sleep(LAST_NOTE_S)
    assert along.over
