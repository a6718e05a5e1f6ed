from fractions import Fraction
from random import Random

import music21
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.music import BeatGrid, Key, Meter, PerformedNote, Span
from coach.notation import LineKind
from coach.pieces.capture import Captured, Feel, capture
from coach.pieces.key_of_line import key_of_line

TEMPO_BPM = 80.0
OFFSET_S = 2.0
GRID = BeatGrid.steady(TEMPO_BPM, OFFSET_S)
HUMAN_TIMING_S = 0.020
"""Standard deviation of a steady amateur's onsets. Common practice, no source."""


def performed(onset: Fraction, length: Fraction, midi: int, late_s: float = 0.0) -> PerformedNote:
    start_s = GRID.second_of(onset) + late_s
    end_s = GRID.second_of(onset + length) - 0.03
    return PerformedNote(Span(start_s, max(end_s, start_s + 0.06)), midi, 0.0, 0.9, midi, start_s + 0.07)


def written(heard: list[PerformedNote], feel: Feel = Feel.STRAIGHT, meter: str = "4/4") -> Captured:
    return capture(heard, GRID, kind=LineKind.MELODY, meter=Meter.parse(meter), feel=feel)


STRAIGHT_LENGTHS = [Fraction(1, 2), Fraction(1), Fraction(3, 2), Fraction(2), Fraction(3)]
TRIPLET_LENGTHS = [Fraction(1, 3), Fraction(2, 3), Fraction(1), Fraction(4, 3), Fraction(2)]


def onsets_of(lengths: list[Fraction]) -> list[Fraction]:
    return [sum(lengths[:i], Fraction(0)) for i in range(len(lengths))]


@pytest.mark.parametrize(
    ("feel", "usual"), [(Feel.STRAIGHT, STRAIGHT_LENGTHS), (Feel.TRIPLET, TRIPLET_LENGTHS)]
)
def test_an_exact_performance_is_written_as_it_was_meant(feel: Feel, usual: list[Fraction]) -> None:
    @given(st.lists(st.sampled_from(usual), min_size=3, max_size=24))
    def holds(lengths: list[Fraction]) -> None:
        onsets = onsets_of(lengths)
        heard = [performed(o, d, 60 + i % 12) for i, (o, d) in enumerate(zip(onsets, lengths, strict=True))]
        line = written(heard, feel).line
        assert [n.onset for n in line] == onsets
        assert [n.midi for n in line] == [n.midi for n in heard]
        assert [n.duration for n in line][:-1] == lengths[:-1]

    holds()


@pytest.mark.parametrize("seed", range(10))
def test_human_timing_and_a_late_player_change_nothing(seed: int) -> None:
    rng = Random(seed)
    lengths = rng.choices([Fraction(1), Fraction(1), Fraction(2), Fraction(1, 2), Fraction(3, 2)], k=24)
    onsets = onsets_of(lengths)
    late_s = rng.uniform(-0.06, 0.06)
    heard = [
        performed(o, d, 64, late_s + rng.gauss(0, HUMAN_TIMING_S))
        for o, d in zip(onsets, lengths, strict=True)
    ]
    got = written(heard)
    assert [n.onset for n in got.line] == onsets
    assert got.late_s == pytest.approx(late_s, abs=0.02)


def test_swing_is_written_long_short() -> None:
    onsets = [Fraction(0), Fraction(2, 3), Fraction(1), Fraction(5, 3), Fraction(2)]
    heard = [performed(o, Fraction(1, 3), 62) for o in onsets]
    assert [n.onset for n in written(heard, Feel.SWING).line] == onsets


def test_an_upbeat_comes_before_the_first_bar() -> None:
    got = written([performed(Fraction(-1), Fraction(1), 62), performed(Fraction(0), Fraction(2), 67)])
    assert got.pickup == 1
    assert [n.onset for n in got.line] == [0, 1]


def test_notes_a_whole_bar_early_make_a_bar_not_an_upbeat() -> None:
    got = written([performed(Fraction(-4), Fraction(1), 62), performed(Fraction(0), Fraction(2), 67)])
    assert got.pickup == 0
    assert [n.onset for n in got.line] == [0, 4]


def test_a_clear_rest_stays_a_rest() -> None:
    got = written([performed(Fraction(0), Fraction(1), 60), performed(Fraction(4), Fraction(1), 62)])
    assert [(n.onset, n.duration) for n in got.line] == [(0, 1), (4, 1)]


def test_finger_noise_and_silence_write_nothing() -> None:
    noise = PerformedNote(Span(2.0, 2.03), 71, 0.0, 0.4, 71, 2.05)
    assert len(written([noise]).line) == 0
    assert len(written([]).line) == 0


def test_durations_bars_and_ties_agree_with_music21() -> None:
    lengths = [Fraction(3, 2), Fraction(1, 2), Fraction(1), Fraction(3), Fraction(2)]
    onsets = onsets_of(lengths)
    line = written([performed(o, d, 67) for o, d in zip(onsets, lengths, strict=True)]).line
    part = music21.stream.Part([music21.meter.TimeSignature("4/4")])
    for note in line:
        part.insert(note.onset, music21.note.Note(note.midi, quarterLength=note.duration))
    measures = part.makeMeasures()
    measures.makeTies(inPlace=True)
    bars = [[n.quarterLength for n in m.notes] for m in measures.getElementsByClass("Measure")]
    assert bars == [
        [1.5, 0.5, 1.0, 1.0],
        [2.0, 2.0],
    ]  # the three quarters from beat 4 are tied over the bar line


@pytest.mark.parametrize("tonic", range(12))
@pytest.mark.parametrize("mode", ["major", "minor"])
def test_the_key_agrees_with_music21_on_a_scale(tonic: int, mode: str) -> None:
    # Both use the Krumhansl-Kessler profiles; a scale up and down that rests on its tonic.
    steps = [0, 2, 4, 5, 7, 9, 11, 12] if mode == "major" else [0, 2, 3, 5, 7, 8, 11, 12]
    midis = [60 + tonic + s for s in steps + steps[::-1]] + [60 + tonic] * 2
    stream = music21.stream.Stream([music21.note.Note(m, quarterLength=1) for m in midis])
    theirs = music21.analysis.discrete.KrumhanslKessler().getSolution(stream)
    ours = key_of_line((m, 1.0) for m in midis)
    assert (ours.tonic_class, ours.mode.value) == (theirs.tonic.pitchClass, theirs.mode)


def test_no_notes_have_no_key_of_their_own() -> None:
    assert key_of_line([]) == Key("C", 0)
    assert key_of_line([(67, 1.0), (67, 2.0)]) == Key("G", 0)


def sounding(onset: str, sounds: str, midi: int) -> PerformedNote:
    """A note that sounds for so many quarters, whatever it is meant to last."""
    start_s = GRID.second_of(Fraction(onset))
    end_s = GRID.second_of(float(Fraction(onset)) + float(Fraction(sounds)))
    return PerformedNote(Span(start_s, end_s), midi, 0.0, 0.9, midi, start_s + 0.07)


def test_a_singer_who_leaves_off_before_the_off_beat_makes_a_rest() -> None:
    """One of many connected notes ends clearly early: an eighth rest, as it is usually written."""
    heard = [sounding(str(beat), "9/10", 60 + beat % 5) for beat in range(8)]
    heard += [sounding("8", "9/10", 64), sounding("19/2", "9/20", 62), sounding("10", "9/10", 60)]
    got = {n.onset: n.duration for n in written(heard).line}
    assert got[Fraction(8)] == 1
    assert all(got[Fraction(beat)] == 1 for beat in range(8))


def test_a_detached_manner_makes_no_rests() -> None:
    heard = [sounding(str(beat), "1/2", 60 + beat % 5) for beat in range(12)]
    assert [n.duration for n in written(heard).line][:-1] == [1] * 11


def test_a_short_note_before_a_swung_rest_stays_short() -> None:
    heard = [sounding("0", "3/5", 60), sounding("2/3", "3/10", 62), sounding("5/3", "3/10", 64)]
    heard += [sounding("2", "3/5", 65), sounding("8/3", "3/10", 64), sounding("3", "9/10", 60)]
    got = {n.onset: n.duration for n in written(heard, Feel.SWING).line}
    assert got[Fraction(2, 3)] == Fraction(1, 3)


def test_a_string_that_rings_on_at_the_end_fills_its_bar() -> None:
    heard = [sounding(str(beat), "1", 60) for beat in range(7)]
    assert written([*heard, sounding("7", "3/2", 62)]).line.notes[-1].duration == 1
    assert written([*heard[:6], sounding("6", "5/2", 62)]).line.notes[-1].duration == 2
