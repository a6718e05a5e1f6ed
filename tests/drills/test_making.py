"""Prompts of every kind: in range, in order, the same for the same seed, never clipped."""

import math
from itertools import pairwise
from random import Random

import numpy as np
import pytest

from coach.drills.context import UNKNOWN_VOICE, DrillContext
from coach.drills.data import Direction, Drill
from coach.drills.items import interval_named
from coach.drills.kinds import AnswerForm, By, Kind, Rule
from coach.drills.make_bass import BASS_RANGE
from coach.drills.making import make_prompt
from coach.drills.prompt import ExpectedName, ExpectedPlace, Prompt
from coach.tones.rendering import render
from tests.drill_answers import TUNE, all_drills

DRILLS = all_drills()
CONTEXT = DrillContext(melody=TUNE)
SEEDS = range(20)
PEAK_DBFS = -6.0


def _prompts(drill: Drill, context: DrillContext = CONTEXT) -> list[Prompt]:
    return [
        make_prompt(drill, level, Random(seed), context, by=by)
        for level in range(1, len(drill.levels) + 1)
        for by in By
        for seed in SEEDS
    ]


@pytest.mark.parametrize("drill", DRILLS, ids=lambda drill: drill.name)
def test_every_prompt_is_whole(drill: Drill) -> None:
    for prompt in _prompts(drill):
        assert prompt.expected
        assert prompt.notes
        assert prompt.ask.endswith((".", "?"))
        assert all(note.end_s <= prompt.sound_s for note in prompt.notes)
        assert prompt.window_s > 0
        along = prompt.kind is Kind.TAP_BASS_CHANGE
        assert prompt.listen_from_s >= prompt.sound_s or (along and prompt.listen_from_s == 0.0)
        assert all(one > 0 for one in prompt.onsets_s)
        assert prompt.skill in drill.skills()


@pytest.mark.parametrize("drill", DRILLS, ids=lambda drill: drill.name)
def test_the_same_seed_gives_the_same_prompt(drill: Drill) -> None:
    first, again = _prompts(drill), _prompts(drill)
    assert first == again
    assert len({prompt.notes for prompt in first}) >= min(12, len(first) // 8)


@pytest.mark.parametrize("voice", [UNKNOWN_VOICE, (41, 60), (55, 76), (60, 64), (48, 72)])
def test_what_is_sung_lies_in_the_voice(voice: tuple[int, int]) -> None:
    context = DrillContext(voice=voice, melody=TUNE)
    low, high = context.compass(By.VOICE)
    for drill in DRILLS:
        if drill.kind.form is not AnswerForm.NOTES:
            continue
        for level in range(1, len(drill.levels) + 1):
            for seed in SEEDS:
                prompt = make_prompt(drill, level, Random(seed), context, by=By.VOICE)
                middle = (min(prompt.midis) + max(prompt.midis)) / 2
                span = max(prompt.midis) - min(prompt.midis)
                if span <= high - low:
                    assert low <= min(prompt.midis) <= max(prompt.midis) <= high, prompt
                else:
                    # Wider than the voice: as near as octaves allow.
                    assert abs(middle - (low + high) / 2) <= 7, prompt


def test_what_is_played_lies_on_the_guitar() -> None:
    for drill in DRILLS:
        for prompt in _prompts(drill):
            if prompt.by is By.GUITAR and prompt.midis:
                assert all(40 <= midi <= 76 for midi in prompt.midis), prompt


@pytest.mark.parametrize("drill", DRILLS, ids=lambda drill: drill.name)
def test_prompts_are_not_clipped_and_begin_softly(drill: Drill) -> None:
    for seed, level in enumerate(range(1, len(drill.levels) + 1)):
        prompt = make_prompt(drill, level, Random(seed), CONTEXT, by=By.GUITAR)
        samples = render(prompt.notes, prompt.timbre, 22_050, clicks=prompt.clicks, length_s=prompt.sound_s)
        peak = float(np.abs(samples).max())
        assert peak > 0.01
        assert 20 * math.log10(peak) <= PEAK_DBFS
        assert float(np.abs(samples[:20]).max()) < 0.1 * peak
        assert samples[-1] == 0.0


def _prompt(name: str, item: str | None = None, by: By = By.GUITAR, seed: int = 1, level: int = 1) -> Prompt:
    drill = next(drill for drill in DRILLS if drill.name == name)
    skills = [skill for skill in drill.skills() if item in {None, skill.item} and skill.by in {by, "tap"}]
    return make_prompt(drill, level, Random(seed), CONTEXT, by=by, skill=skills[seed % len(skills)])


def test_intervals_have_their_size_and_direction() -> None:
    drill = next(drill for drill in DRILLS if drill.kind is Kind.INTERVAL_ECHO)
    for skill in drill.skills():
        prompt = make_prompt(drill, 2, Random(4), CONTEXT, skill=skill)
        size = interval_named(skill.item).semitones
        first, second = prompt.midis
        assert second - first == (size if skill.direction is Direction.UP else -size)
        assert [note.midi for note in prompt.notes] == list(prompt.midis)


def test_an_interval_from_a_note_does_not_sound_its_answer() -> None:
    for seed in SEEDS:
        prompt = _prompt("interval-from-note", seed=seed)
        assert len(prompt.notes) == 1
        assert prompt.notes[0].midi != prompt.midis[0]
        assert "fret" in prompt.ask


def test_theory_words_only_when_asked_for() -> None:
    drill = next(drill for drill in DRILLS if drill.kind is Kind.NAME_INTERVAL)
    frets = make_prompt(drill, 4, Random(1), CONTEXT)
    names = make_prompt(drill, 4, Random(1), DrillContext(theory_words=True))
    assert all("fret" in choice for choice in frets.choices)
    assert "perfect fifth" in names.choices
    for prompt in (frets, names):
        wanted = prompt.expected[0]
        assert isinstance(wanted, ExpectedName)
        assert wanted.name in prompt.choices


def test_the_words_follow_the_notes() -> None:
    for seed in range(60):
        prompt = _prompt("same-higher-lower", seed=seed)
        first, second = (note.midi for note in prompt.notes)
        word = "same" if first == second else ("higher" if second > first else "lower")
        assert prompt.expected == (ExpectedName(word),)
        prompt = _prompt("step-skip-repeat", seed=seed)
        first, second = (note.midi for note in prompt.notes)
        move = abs(second - first)
        assert prompt.expected == (ExpectedName("repeat" if move == 0 else "step" if move <= 2 else "skip"),)


def test_chords_ask_for_their_outer_notes() -> None:
    for seed in SEEDS:
        for level in (1, 3, 5):
            lowest = _prompt("chord-outer", "lowest", seed=seed, level=level)
            assert lowest.midis == (min(note.midi for note in lowest.notes),)
            assert lowest.rule is Rule.OCTAVE_UP_OK
            top = _prompt("chord-outer", "top", seed=seed, level=level)
            assert top.midis == (max(note.midi for note in top.notes),)
            assert top.rule is Rule.EXACT
            assert _prompt("chord-outer", "top", by=By.VOICE, seed=seed, level=level).rule is Rule.ANY_OCTAVE


def test_easy_chords_are_broken_and_hard_ones_struck() -> None:
    easy, hard = _prompt("two-note-chord", level=1), _prompt("two-note-chord", level=3)
    assert len({note.start_s for note in easy.notes}) == 3
    assert len({note.start_s for note in hard.notes}) == 1


def test_bass_moves_lie_low_and_move_by_their_degrees() -> None:
    for seed in SEEDS:
        prompt = _prompt("bass-moves", "1-5-4", seed=seed)
        first, fifth, fourth = prompt.midis
        assert (fifth - first) % 12 == 7
        assert (fourth - first) % 12 == 5
        assert all(BASS_RANGE[0] <= midi <= BASS_RANGE[1] for midi in prompt.midis)
        assert prompt.rule is Rule.OCTAVE_UP_OK


def test_the_bass_changes_exactly_when_it_is_expected_to() -> None:
    for seed in SEEDS:
        for item in ("bars", "inside"):
            prompt = _prompt("tap-bass-change", item, seed=seed, level=4)
            bass = [note for note in prompt.notes if note.timbre is not None]
            low = [note for note in bass if note.gain_db == 0.0]
            changes = [b.start_s for a, b in pairwise(low) if a.midi != b.midi]
            assert list(prompt.onsets_s) == pytest.approx(changes, abs=1e-3)


def test_home_is_told_by_the_phrase_but_not_played_last() -> None:
    for seed in SEEDS:
        prompt = _prompt("home-note", seed=seed)
        assert (prompt.notes[-1].midi - prompt.midis[0]) % 12 != 0
        assert prompt.rule is Rule.ANY_OCTAVE


def test_degrees_are_those_of_the_major_scale_over_the_drone() -> None:
    steps = {1: 0, 2: 2, 3: 4, 4: 5, 5: 7, 6: 9, 7: 11}  # the major scale, any handbook
    for degree, step in steps.items():
        prompt = _prompt("degree-over-drone", str(degree), level=2)
        assert (prompt.midis[0] - prompt.notes[0].midi) % 12 == step


def test_phrases_have_their_number_of_notes_within_an_octave_of_a_scale() -> None:
    for seed in SEEDS:
        for item in "3456":
            prompt = _prompt("phrase-echo", item, seed=seed, level=5)
            assert len(prompt.midis) == int(item)
            assert max(prompt.midis) - min(prompt.midis) <= 13
            scales = [{(root + step) % 12 for step in (0, 2, 4, 5, 7, 9, 11)} for root in range(12)]
            assert any({midi % 12 for midi in prompt.midis} <= scale for scale in scales)


def test_a_rhythm_is_counted_in_and_sounds_as_written() -> None:
    for seed in SEEDS:
        prompt = _prompt("rhythm-echo", "triplet", seed=seed)
        assert len(prompt.clicks) == 4
        sounded = np.diff([note.start_s for note in prompt.notes])
        assert np.allclose(sounded, np.diff(prompt.onsets_s), atol=1e-3)


def test_places_hold_their_note() -> None:
    tuning = {6: 40, 5: 45, 4: 50, 3: 55, 2: 59, 1: 64}  # standard tuning, any handbook
    for seed in SEEDS:
        natural = _prompt("natural-notes", seed=seed, level=2)
        (place,) = natural.expected
        assert isinstance(place, ExpectedPlace)
        assert place.fret <= 5
        midi = tuning[place.string] + place.fret
        assert midi == natural.sounding[0]
        assert midi % 12 in {0, 2, 4, 5, 7, 9, 11}
        others = _prompt("other-places", seed=seed, level=3)
        for other in others.expected:
            assert isinstance(other, ExpectedPlace)
            assert tuning[other.string] + other.fret == others.sounding[0]
        assert all(
            (place.string, place.fret) not in {(o.string, o.fret) for o in others.expected}
            for place in others.shown
        )  # type: ignore[union-attr]


def test_wrong_use_is_told() -> None:
    drill = next(drill for drill in DRILLS if drill.kind is Kind.PIECE_MOVES)
    with pytest.raises(ValueError, match="tune of a section"):
        make_prompt(drill, 1, Random(1), DrillContext())
    with pytest.raises(ValueError, match="does not belong"):
        make_prompt(drill, 1, Random(1), CONTEXT, skill=DRILLS[0].skills()[0])
