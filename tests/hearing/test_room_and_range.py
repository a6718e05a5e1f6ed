"""Level, talk in the room, voice range, round trip."""

import numpy as np
import pytest

from coach.hearing.frames import FRAME_S, F0Frame
from coach.hearing.level import LevelMeter
from coach.hearing.room import RoomTalks
from coach.hearing.roundtrip import MOST_SPREAD_S, RoundTrip, chirp, find_sound, settled
from coach.hearing.voice_range import VoiceRange
from coach.music import PerformedNote, Span
from tests import synth


def frames_of(cents: np.ndarray, voiced: np.ndarray) -> tuple[F0Frame, ...]:
    hz = 150.0 * 2 ** (cents / 1200)
    return tuple(
        F0Frame(i * FRAME_S, float(f) if v else None, 0.9 if v else 0.1, bool(v), i * FRAME_S)
        for i, (f, v) in enumerate(zip(hz, voiced, strict=True))
    )


def test_the_level_of_a_sine_is_its_handbook_value() -> None:
    sine = (0.1 * np.sin(2 * np.pi * 440 * np.arange(16_000) / 16_000)).astype(np.float32)
    level = LevelMeter().push(sine)
    assert level.now_db == pytest.approx(-23.01, abs=0.1)  # 20 log10(0.1 / sqrt 2)
    assert not level.clipping


def test_floor_noise_and_clipping() -> None:
    meter = LevelMeter(48_000)
    hiss = 0.02 * np.random.default_rng(1).standard_normal(144_000)
    level = meter.push(hiss.astype(np.float32))
    assert level.floor_db == pytest.approx(-34.0, abs=0.5)  # 20 log10(0.02); 20 ms of white noise vary little
    assert level.noisy
    assert meter.push(np.clip(4 * synth.pluck(110.0, 0.5), -1, 1)).clipping
    assert not meter.push(synth.pink_noise(3.0, rms=0.001)).clipping
    assert not LevelMeter().push(synth.pink_noise(3.0, rate_hz=16_000, rms=0.0005)).noisy


def test_gliding_syllables_are_talk_and_held_notes_are_not() -> None:
    rng = np.random.default_rng(1)
    time = np.arange(600) * FRAME_S
    syllables = time % 0.35 < 0.22
    glides = 250 * np.sin(2 * np.pi * 1.3 * time) + np.cumsum(rng.normal(0, 12, len(time)))
    assert RoomTalks().push(frames_of(glides, syllables))
    song = 100 * np.floor(time / 0.5) + 20 * np.sin(2 * np.pi * 5.5 * time)
    assert not RoomTalks().push(frames_of(song, time % 0.5 < 0.45))
    # A trained singer's vibrato moves from frame to frame as fast as speech: 60 cents around the note and
    # 5 to 6.5 swings a second are usual (common practice, no source).
    for swings_hz in (5.0, 5.7, 6.5):
        vibrato = 100 * np.floor(time / 0.5) + 60 * np.sin(2 * np.pi * swings_hz * time)
        assert not RoomTalks().push(frames_of(vibrato, time % 0.5 < 0.45))
    guitar = 200 * np.floor(time / 0.3) + rng.normal(0, 2, len(time))
    assert not RoomTalks().push(frames_of(guitar, np.ones(len(time), bool)))


def test_talk_is_over_when_someone_plays_or_after_a_while() -> None:
    rng = np.random.default_rng(1)
    time = np.arange(300) * FRAME_S
    glides = 250 * np.sin(2 * np.pi * 1.3 * time) + np.cumsum(rng.normal(0, 12, len(time)))
    syllables = time % 0.35 < 0.22
    room = RoomTalks()
    assert room.push(frames_of(glides, syllables))
    played = np.concatenate([glides, np.zeros(120)])
    room = RoomTalks()
    assert not room.push(frames_of(played, np.concatenate([syllables, np.ones(120, bool)])))
    room = RoomTalks()
    quiet = np.concatenate([syllables, np.zeros(700, bool)])
    assert not room.push(frames_of(np.concatenate([glides, np.zeros(700)]), quiet))


def note(midi: int, length_s: float = 0.5, confidence: float = 0.9) -> PerformedNote:
    return PerformedNote(Span(1.0, 1.0 + length_s), midi, 0.0, confidence, midi, 1.2)


def test_the_range_widens_with_held_notes_only() -> None:
    found = VoiceRange().widened(note(57)).widened(note(60)).widened(note(55))
    assert (found.lowest, found.highest) == (55, 60)
    assert found.widened(note(50, length_s=0.1)) == found
    assert found.widened(note(50, confidence=0.3)) == found
    assert found.widened(note(58)) == found


def test_a_far_note_must_come_twice() -> None:
    once = VoiceRange(55, 60).widened(note(72))
    assert (once.lowest, once.highest) == (55, 60)
    assert once.widened(note(72)) == VoiceRange(55, 72)
    assert once.widened(note(62)) == VoiceRange(55, 62)


def test_a_range_has_two_ends_in_order() -> None:
    with pytest.raises(ValueError, match="both ends"):
        VoiceRange(50, None)
    with pytest.raises(ValueError, match="over the highest"):
        VoiceRange(60, 50)


@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
@pytest.mark.parametrize("delay_s", [0.0, 0.0361, 0.25])
def test_the_chirp_is_found_in_noise_and_echo(rate_hz: int, delay_s: float) -> None:
    rng = np.random.default_rng(2)
    captured = 0.01 * rng.standard_normal(rate_hz)
    first = round(delay_s * rate_hz)
    for echo_s, gain in ((0.0, 0.2), (0.004, 0.08), (0.02, 0.05)):
        at = first + round(echo_s * rate_hz)
        captured[at : at + len(chirp(rate_hz))] += gain * chirp(rate_hz)
    found = find_sound(captured.astype(np.float32), chirp(rate_hz), rate_hz)
    assert found is not None
    assert found.delay_s == pytest.approx(delay_s, abs=0.0005)
    assert found.wireless == (delay_s > 0.12)


def test_no_chirp_no_delay() -> None:
    rng = np.random.default_rng(3)
    noise = (0.1 * rng.standard_normal(48_000)).astype(np.float32)
    for captured in (noise, synth.pluck(220.0, 1.0), np.zeros(100, np.float32), np.zeros(48_000, np.float32)):
        assert find_sound(captured, chirp(48_000), 48_000) is None


def test_measures_that_disagree_must_be_repeated() -> None:
    near = [RoundTrip(0.036, 0.8), RoundTrip(0.037, 0.8), RoundTrip(0.0365, 0.8)]
    assert settled(near) == 0.0365
    assert settled([*near, RoundTrip(0.036 + 2 * MOST_SPREAD_S, 0.8)]) is None
    with pytest.raises(ValueError, match="three"):
        settled(near[:2])
