"""Grading without audio: right answers, a semitone off, octaves by the rule, words, places, moments."""

from collections.abc import Callable
from dataclasses import replace
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.drills.answers import GivenName, GivenNotes, GivenPlaces, HeardNotes, HeardOnsets, read_answer
from coach.drills.context import DrillContext
from coach.drills.data import Drill
from coach.drills.grade import Word
from coach.drills.grading import grade
from coach.drills.kinds import AnswerForm, By, Kind, Rule
from coach.drills.making import make_prompt
from coach.drills.prompt import ExpectedName, ExpectedPlace, Prompt
from coach.drills.solid import settled, solid_notes
from coach.errors import InputError
from coach.music import PerformedNote, Span
from coach.notation import Place
from tests.drill_answers import TUNE, all_drills, octave_right, performed

DRILLS = all_drills()
SEEDS = range(50)
CONTEXT = DrillContext(melody=TUNE)


def _prompt(name: str, seed: int = 1, by: By = By.VOICE, level: int = 1) -> Prompt:
    drill = next(drill for drill in DRILLS if drill.name == name)
    return make_prompt(drill, level, Random(seed), CONTEXT, by=by)


def _cases(form: AnswerForm) -> list[tuple[Drill, By]]:
    return [(drill, by) for drill in DRILLS if drill.kind.form is form for by in By]


def _ids(case: object) -> str:
    return case.name if isinstance(case, Drill) else str(case)


@pytest.mark.parametrize(("drill", "by"), _cases(AnswerForm.NOTES), ids=_ids)
def test_notes_right_a_semitone_off_and_in_other_octaves(drill: Drill, by: By) -> None:
    for seed in SEEDS:
        rng = Random(seed)
        prompt = make_prompt(drill, 1 + seed % len(drill.levels), Random(seed), CONTEXT, by=by)
        right = grade(prompt, HeardNotes(performed(prompt.midis, cents=rng.uniform(-10, 10))))
        assert right.right
        assert right.credit == 1.0
        assert right.word in {Word.SURE, Word.INSTANT, Word.SHAKY}
        wrong = list(prompt.midis)
        place = rng.randrange(len(wrong))
        wrong[place] += rng.choice((-1, 1))
        off = grade(prompt, HeardNotes(performed(wrong, cents=rng.uniform(-10, 10))))
        assert not off.right
        assert off.word is Word.MISSED
        assert off.credit <= 1 - 1 / len(wrong) + 1e-3
        for octaves in (-2, -1, 1, 2):
            moved = [midi + 12 * octaves for midi in prompt.midis]
            graded = grade(prompt, HeardNotes(performed(moved)))
            assert graded.right == octave_right(prompt, octaves)
            assert graded.credit == (1.0 if graded.right else 0.5)


@pytest.mark.parametrize(("drill", "by"), _cases(AnswerForm.NAME), ids=_ids)
def test_words_by_finger_and_by_two_notes(drill: Drill, by: By) -> None:
    for seed in SEEDS:
        prompt = make_prompt(drill, 1 + seed % len(drill.levels), Random(seed), CONTEXT, by=by)
        (wanted,) = prompt.expected
        assert isinstance(wanted, ExpectedName)
        for choice in prompt.choices:
            assert grade(prompt, GivenName(choice)).right == (choice == wanted.name)
        assert grade(prompt, HeardNotes(performed([note.midi for note in prompt.notes]))).right
        assert grade(prompt, GivenNotes(prompt.sounding)).right
        assert not grade(prompt, HeardNotes(performed([60]))).right
        assert not grade(prompt, HeardNotes(())).right


@pytest.mark.parametrize("name", ["natural-notes", "other-places"])
def test_places_by_finger_and_by_the_note_they_hold(name: str) -> None:
    for seed in SEEDS:
        prompt = _prompt(name, seed, By.GUITAR, 1 + seed % 3)
        places = tuple(Place(p.string, p.fret) for p in prompt.expected if isinstance(p, ExpectedPlace))
        assert grade(prompt, GivenPlaces(places)).right
        assert grade(prompt, GivenPlaces((*places, *prompt.shown))).right
        off = tuple(Place(place.string, place.fret + 1) for place in places)
        assert not grade(prompt, GivenPlaces(off)).right
        (midi,) = prompt.sounding
        assert grade(prompt, HeardNotes(performed([midi]))).right
        assert not grade(prompt, HeardNotes(performed([midi + 1]))).right
        assert not grade(prompt, HeardNotes(performed([midi + 12]))).right


def test_some_places_earn_some_credit() -> None:
    prompt = next(
        prompt
        for seed in range(40)
        if len((prompt := _prompt("other-places", seed, By.GUITAR, 3)).expected) == 2
    )
    places = [Place(p.string, p.fret) for p in prompt.expected if isinstance(p, ExpectedPlace)]
    one = grade(prompt, GivenPlaces(tuple(places[:1])))
    assert (one.right, one.credit) == (False, 0.5)
    guessed = grade(prompt, GivenPlaces((places[0], Place(1, 19), Place(2, 19))))
    assert guessed.credit == 0.0


@pytest.mark.parametrize("name", ["rhythm-echo", "tap-bass-change"])
@pytest.mark.parametrize("level", [1, 4])
def test_moments_right_and_wrong(name: str, level: int) -> None:
    for seed in SEEDS:
        rng, prompt = Random(seed), _prompt(name, seed, level=level)
        along = prompt.kind is Kind.TAP_BASS_CHANGE
        shift = rng.uniform(0.0, 0.2) if along else rng.uniform(-0.3, 3.0)
        times = [at_s + shift + rng.gauss(0, 0.015) for at_s in prompt.onsets_s]
        assert grade(prompt, HeardOnsets(tuple(times))).right
        beat_late = list(times)
        beat_late[-1] += 0.3
        assert not grade(prompt, HeardOnsets(tuple(beat_late))).right
        assert not grade(prompt, HeardOnsets(tuple(times[:-1]))).right
        assert not grade(prompt, HeardOnsets((*times, times[-1] + 0.5))).right
        assert grade(prompt, HeardOnsets(())).credit == 0.0


def test_a_rhythm_may_be_a_little_quicker_as_a_whole_but_not_another_rhythm() -> None:
    for seed in SEEDS:
        prompt = _prompt("rhythm-echo", seed)
        assert grade(prompt, HeardOnsets(tuple(0.94 * at_s for at_s in prompt.onsets_s))).right
        halved = tuple(0.5 * at_s for at_s in prompt.onsets_s)
        assert not grade(prompt, HeardOnsets(halved)).right


def test_changes_tapped_half_a_beat_late_are_wrong() -> None:
    prompt = _prompt("tap-bass-change")
    late = tuple(at_s + 0.55 for at_s in prompt.onsets_s)
    assert not grade(prompt, HeardOnsets(late)).right


def test_handling_noise_is_left_out_and_needed_strikes_are_not() -> None:
    prompt = _prompt("rhythm-echo", 3)
    times = [*prompt.onsets_s, prompt.onsets_s[-1] + 0.2]
    strengths = [1.0] * len(prompt.onsets_s)
    assert grade(prompt, HeardOnsets(tuple(times), (*strengths, 0.1))).right
    assert not grade(prompt, HeardOnsets(tuple(times), (*strengths, 0.9))).right
    soft = (0.1, *strengths[1:])
    assert grade(prompt, HeardOnsets(prompt.onsets_s, soft)).right


@pytest.mark.parametrize(("level", "cents"), [(1, 50.0), (3, 35.0), (5, 25.0)])
def test_the_voice_has_its_tolerance_by_level(level: int, cents: float) -> None:
    prompt = _prompt("match-note", level=level)
    for sign in (-1, 1):
        inside = grade(prompt, HeardNotes(performed(prompt.midis, cents=sign * (cents - 1))))
        assert inside.right
        assert inside.word is Word.SHAKY
        assert inside.cents == pytest.approx(sign * (cents - 1))
        assert not grade(prompt, HeardNotes(performed(prompt.midis, cents=sign * (cents + 1)))).right


def test_a_fretted_note_counts_as_its_nearest_semitone() -> None:
    prompt = _prompt("match-note", by=By.GUITAR, level=5)
    assert grade(prompt, HeardNotes(performed(prompt.midis, cents=44.0))).right


def test_octaves_note_by_note_are_right_but_shaky() -> None:
    prompt = _prompt("interval-echo")
    first, second = prompt.midis
    folded = grade(prompt, HeardNotes(performed([first, second - 12])))
    assert (folded.right, folded.word) == (True, Word.SHAKY)


def test_time_and_repetition_make_the_word() -> None:
    prompt = _prompt("match-note")
    answer: Callable[[float], HeardNotes] = lambda at_s: HeardNotes(performed(prompt.midis, start_s=at_s))  # noqa: E731
    assert grade(prompt, answer(0.5)).word is Word.INSTANT
    assert grade(prompt, answer(3.0)).word is Word.SURE
    assert grade(prompt, answer(9.0)).word is Word.SHAKY
    assert grade(prompt, answer(0.5), again=1).word is Word.SURE
    assert grade(prompt, answer(0.5), again=2).word is Word.SHAKY
    assert grade(prompt, HeardNotes(())).word is Word.MISSED


def test_a_note_found_on_the_way_earns_a_little() -> None:
    prompt = _prompt("match-note")
    (midi,) = prompt.midis
    found = grade(prompt, HeardNotes(performed([midi + 2, midi])))
    assert (found.right, found.credit) == (False, 0.3)


def _note(start_s: float, end_s: float, midi: int = 60, confidence: float = 0.9) -> PerformedNote:
    return PerformedNote(Span(start_s, end_s), midi, 0.0, confidence, midi, start_s + 0.05)


def test_slides_and_tails_are_no_answers() -> None:
    scoop, note, tail = _note(0.5, 0.62, 59), _note(0.62, 1.4), _note(1.4, 1.5, 72)
    assert solid_notes((scoop, note, tail), By.VOICE, 1) == (note,)
    assert solid_notes((note, _note(1.45, 2.2, 62)), By.VOICE, 1) == (note, _note(1.45, 2.2, 62))
    assert solid_notes((_note(0.1, 0.13), note), By.GUITAR, 2) == (note,)
    assert solid_notes((_note(0.1, 0.4, confidence=0.1), note), By.VOICE, 1) == (note,)


def test_a_held_note_that_was_cut_in_two_is_one() -> None:
    joined = solid_notes((_note(0.5, 1.0), _note(1.03, 1.6)), By.VOICE, 1)
    assert [note.span for note in joined] == [Span(0.5, 1.6)]
    repeated = solid_notes((_note(0.5, 1.0), _note(1.03, 1.6)), By.VOICE, 2)
    assert len(repeated) == 2


def test_a_string_that_rings_on_is_no_new_note() -> None:
    """Heard of strings that ring over each other: 47, then shortly 49, then 47 again without a stroke."""
    spans = ((47, 0.0, 0.6), (46, 0.6, 1.2), (47, 1.2, 1.8), (49, 1.8, 1.9), (47, 1.9, 2.7))
    notes = [PerformedNote(Span(a, b), midi, 0.0, 0.9, midi, a + 0.1) for midi, a, b in spans]
    assert [note.midi for note in solid_notes(notes, By.GUITAR, 4)] == [47, 46, 47, 49]
    assert [note.midi for note in solid_notes(notes, By.GUITAR, 5)] == [47, 46, 47, 49, 47]
    struck = [*notes[:-1], replace(notes[-1], span=Span(2.0, 2.7))]
    assert [note.midi for note in solid_notes(struck, By.GUITAR, 4)] == [47, 46, 47, 47]


@pytest.mark.parametrize(
    ("by", "cents", "midi"),
    [(By.VOICE, 55.0, 58), (By.GUITAR, 55.0, 57), (By.GUITAR, 67.0, 58), (By.GUITAR, -67.0, 56)],
)
def test_a_note_is_named_by_where_it_settled(by: By, cents: float, midi: int) -> None:
    note = settled(PerformedNote(Span(0.0, 0.5), 57, cents, 0.9, 57, 0.1), by)
    assert note.midi == midi
    assert 100 * note.midi + note.cents == pytest.approx(5700 + cents)


@given(
    heard=st.lists(st.tuples(st.integers(30, 90), st.floats(-60, 60)), max_size=8),
    seed=st.integers(0, 200),
    name=st.sampled_from([drill.name for drill in DRILLS if drill.kind.form is AnswerForm.NOTES]),
    by=st.sampled_from(list(By)),
)
def test_any_answer_gets_a_whole_grade(heard: list[tuple[int, float]], seed: int, name: str, by: By) -> None:
    prompt = _prompt(name, seed, by)
    notes = tuple(
        PerformedNote(Span(0.5 * i, 0.5 * i + 0.4), midi, cents, 0.9, midi, 0.5 * i + 0.1)
        for i, (midi, cents) in enumerate(heard)
    )
    result = grade(prompt, HeardNotes(notes))
    assert 0.0 <= result.credit <= 1.0
    assert result.right == (result.credit == 1.0) == (result.word is not Word.MISSED)


def test_typed_answers_are_read() -> None:
    assert read_answer("C4, 64", AnswerForm.NOTES) == GivenNotes((60, 64))
    assert read_answer('[{"midi": 60}, {"midi": 64}]', AnswerForm.NOTES) == GivenNotes((60, 64))
    assert read_answer("1.0 0.5", AnswerForm.ONSETS) == HeardOnsets((0.5, 1.0))
    assert read_answer("[0.5, 1]", AnswerForm.ONSETS) == HeardOnsets((0.5, 1.0))
    assert read_answer("major third", AnswerForm.NAME) == GivenName("major third")
    assert read_answer('{"name": "higher"}', AnswerForm.NAME) == GivenName("higher")
    places = GivenPlaces((Place(6, 3), Place(5, 10)))
    for text in ("6:3 5:10", "s6f3 s5f10", "6/3; 5/10", '[{"string":6,"fret":3},{"string":5,"fret":10}]'):
        assert read_answer(text, AnswerForm.PLACES) == places


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("Q4", AnswerForm.NOTES),
        ("one two", AnswerForm.ONSETS),
        ("0.5 nan", AnswerForm.ONSETS),
        ("inf", AnswerForm.ONSETS),
        ("-1", AnswerForm.ONSETS),
        ("7:3", AnswerForm.PLACES),
        ("[{", AnswerForm.NOTES),
        ('[{"fret": 1}]', AnswerForm.PLACES),
    ],
)
def test_unreadable_answers_say_how(text: str, form: AnswerForm) -> None:
    with pytest.raises(InputError, match="write"):
        read_answer(text, form)


def test_an_answer_of_another_form_is_misuse() -> None:
    with pytest.raises(ValueError, match="does not answer"):
        grade(_prompt("match-note"), HeardOnsets((1.0,)))
    with pytest.raises(ValueError, match="does not answer"):
        grade(_prompt("rhythm-echo"), GivenName("higher"))
    with pytest.raises(ValueError, match="does not answer"):
        grade(_prompt("natural-notes"), GivenName("higher"))
    with pytest.raises(ValueError, match="strength"):
        HeardOnsets((1.0, 2.0), (0.5,))


def test_rules_by_kind() -> None:
    assert Kind.MATCH_NOTE.rule(By.VOICE) is Rule.ANY_OCTAVE
    assert Kind.MATCH_NOTE.rule(By.GUITAR) is Rule.EXACT
    assert Kind.HOME_NOTE.rule(By.GUITAR) is Rule.ANY_OCTAVE
    assert Kind.BASS_MOVES.rule(By.GUITAR) is Rule.OCTAVE_UP_OK
    assert Kind.CHORD_OUTER.rule(By.GUITAR, lowest=True) is Rule.OCTAVE_UP_OK
    assert [kind.order for kind in Kind] == list(range(len(Kind)))
