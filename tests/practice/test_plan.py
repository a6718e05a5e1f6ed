from datetime import timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.practice.events import (
    DrillAnswered,
    Event,
    GridSet,
    KeyChosen,
    LineSettled,
    LineWritten,
    PieceChosen,
    PieceSetAside,
    PlayedThrough,
    SectionsSet,
    TakeKept,
    TimeSpent,
    TogetherSettled,
)
from coach.practice.plan import DAY_OFF_WORDS, Plan, StepKind, ear_minutes, missed_days, plan_day
from coach.practice.progress import Progress
from coach.practice.settings import Settings
from coach.practice.stages import Stage
from tests.practice_steps import START, begun, finished, notes, progress_of, record, section_done

DAY = START.date()
KEY = KeyChosen("p", "G", 0, 0, 0.0)
PRACTISED = TimeSpent("ear", 60.0)


def plan(*events: Event, days_later: int = 1, settings: Settings | None = None) -> Plan:
    return plan_day(progress_of(*events), settings or Settings(), DAY + timedelta(days=days_later))


def titles(made: Plan) -> list[str]:
    return [step.title for step in made.steps if step.kind is StepKind.PIECE]


def minutes_of(made: Plan, kind: StepKind) -> int:
    return sum(step.minutes for step in made.steps if step.kind is kind)


def test_day_one_ends_with_three_notes_before_everything_that_can_wait() -> None:
    made = plan_day(Progress(), Settings(), DAY)
    kinds = [step.kind for step in made.steps]
    assert kinds.index(StepKind.PIECE) < kinds.index(StepKind.EAR)
    assert "first three notes" in titles(made)[0]
    until = made.steps[: kinds.index(StepKind.PIECE) + 1]
    assert sum(step.minutes for step in until) <= 15
    chosen = plan(PieceChosen("p", "Lark", None), days_later=0)
    assert titles(chosen) == ["Find the first three notes of “Lark”"]


def test_three_notes_of_a_tune_that_was_laid_aside_are_three_notes() -> None:
    """Who found them in the first tune and then brings their own recording goes on with that at once."""
    three = LineWritten("p", "A", "melody", notes(0, 60, 62, 64))
    other = (*begun(), three, PieceSetAside("p", "mine"), PieceChosen("q", "Wren", None))
    assert titles(plan(*other, days_later=0)) == ["Find the beat: hear it click"]


def test_the_last_steps_of_a_piece_are_named_as_they_are() -> None:
    done = (*begun(), *section_done("A"), *section_done("B", 16))
    assert "both sections are good enough; one whole take" in plan(*done).standing
    taken = (*done, TakeKept("p", "takes/1.flac", 30.0))
    assert "your take is kept: call it done" in plan(*taken).standing


def test_what_comes_first_in_a_new_piece() -> None:
    chosen = PieceChosen("p", "P", None)
    grid = GridSet("p", "4/4", Fraction(0), (), ())
    assert "Find the beat" in titles(plan(chosen))[0]
    assert "cut them into sections" in titles(plan(chosen, grid))[0]
    assert "Choose your next piece" in titles(plan(chosen, PieceSetAside("p", "no")))[0]


def test_the_next_step_is_the_smallest_useful_one() -> None:
    at = (*begun(), KEY)
    bar_1 = LineWritten("p", "A", "melody", notes(0, 60, 62, 64, 65))
    all_bars = LineWritten("p", "A", "melody", notes(0, 60) + notes(12, 62))
    melody = (all_bars, LineSettled("p", "A", "melody"))
    bass = (LineWritten("p", "A", "bass", notes(12, 40)), LineSettled("p", "A", "bass"))
    steps = {
        "Melody of section A, first bar": at,
        "Melody of section A, bar 2": (*at, bar_1),
        "Melody of section A: hear it through, and call it good enough": (*at, all_bars),
        "Bass of section A, first bar": (*at, *melody),
        "Section A: both lines under the hand": (*at, *melody, *bass),
        "Section A: thumb alone, melody alone, then both, slowly": (
            *at, *melody, *bass, TogetherSettled("p", "A"),
        ),
        "Section A: bar 3 first, then all of it": (
            *at, *melody, *bass, TogetherSettled("p", "A"), PlayedThrough("p", "A", "both", 60.0, 0.7, 3),
        ),
    }  # fmt: skip
    for title, events in steps.items():
        assert titles(plan(*events))[0] == title


def test_a_bar_is_named_until_its_last_beat_is_found() -> None:
    three = LineWritten("p", "A", "melody", notes(0, 60, 62, 64))
    assert titles(plan(*begun(), KEY, three))[0] == "Melody of section A, first bar"
    settled = (LineWritten("p", "A", "melody", notes(12, 62)), LineSettled("p", "A", "melody"))
    bass = LineWritten("p", "A", "bass", notes(0, 40))
    assert titles(plan(*begun(), KEY, *settled, bass))[0] == "Bass of section A, bar 2"


def test_a_quick_player_gets_more_bars_in_a_step() -> None:
    quick = section_done("A", minutes=2)
    made = plan(*begun(sections=("A", "B")), KEY, *quick)
    assert titles(made)[0] == "Melody of section B"
    assert made.steps[2].minutes <= 12
    assert made.steps[2].section == "B"
    assert made.steps[2].stage is Stage.MELODY
    slow = section_done("A", minutes=60)
    assert titles(plan(*begun(sections=("A", "B")), KEY, *slow))[0] == "Melody of section B, first bar"


def test_the_key_is_chosen_after_the_first_phrase() -> None:
    melody = (LineWritten("p", "A", "melody", notes(12, 60)), LineSettled("p", "A", "melody"))
    assert titles(plan(*begun(), *melody))[0] == "Choose a key that suits the guitar"


def test_the_whole_piece_then_a_take_then_the_finish() -> None:
    done = (*begun(), KEY, *section_done("A"), *section_done("B", 16))
    assert "keep one take" in titles(plan(*done))[0]
    hard = PlayedThrough("p", None, "both", 60.0, 0.8, 6)
    assert titles(plan(*done, hard))[0].startswith("Bar 6 first")
    assert "call the piece done" in titles(plan(*done, TakeKept("p", "t.flac", 9.0)))[0]


def test_an_upbeat_belongs_to_the_first_bar() -> None:
    cut = (record("A", 0), record("B", 0))
    chosen = PieceChosen("p", "P", None)
    grid = GridSet("p", "4/4", Fraction(1), (), ())
    cut = (
        record("A", 0).__class__("A", Fraction(0), Fraction(9)),
        record("B", 0).__class__("B", Fraction(9), Fraction(17)),
    )
    first = plan(chosen, grid, SectionsSet("p", cut), settings=Settings(minutes_a_day=60))
    work = next(step.work for step in first.steps if step.work is not None)
    assert work.title == "Melody of section A"
    assert work.bars == (1, 2)


@pytest.mark.parametrize("minutes", [15, 20, 25, 30, 45, 60])
def test_the_piece_has_about_sixty_per_cent(minutes: int) -> None:
    made = plan(*begun(), KEY, *section_done("A", minutes=60), settings=Settings(minutes_a_day=minutes))
    assert minutes_of(made, StepKind.PIECE) == pytest.approx(0.6 * minutes, abs=1)


@given(st.integers(0, 100), st.integers(0, 60), st.integers(0, 30), st.sampled_from(range(14)))
def test_no_plan_is_longer_than_asked(minutes: int, ear: int, later: int, done: int) -> None:
    events = (*begun(), *section_done("A"))[: done + 1]
    made = plan(
        *events, PRACTISED, days_later=later, settings=Settings(minutes_a_day=minutes, ear_minutes=ear)
    )
    assert made.minutes <= max(5, min(60, minutes))
    assert all(step.minutes >= 1 for step in made.steps)
    assert minutes_of(made, StepKind.EAR) <= max(3, min(12, ear))


def test_a_longer_ear_set_is_the_players_own_choice_and_never_the_pieces_loss() -> None:
    assert minutes_of(plan(*begun(), settings=Settings(minutes_a_day=40)), StepKind.EAR) == 4
    for minutes, ear in ((60, 12), (45, 11), (40, 9), (25, 7), (20, 5)):
        asks = Settings(minutes_a_day=minutes, ear_minutes=12)
        for events in (begun(), finished()):
            assert minutes_of(plan(*events, settings=asks), StepKind.EAR) == ear


def test_the_ear_screen_has_the_minutes_of_the_plan() -> None:
    for minutes in (6, 10, 20, 40, 60):
        asks = Settings(minutes_a_day=minutes, ear_minutes=12)
        planned = minutes_of(plan(*begun(), settings=asks), StepKind.EAR)
        assert ear_minutes(progress_of(*begun()), asks, DAY) == (planned or 3)


def test_a_long_day_has_a_rest_in_the_middle() -> None:
    made = plan(*begun(), KEY, *section_done("A", minutes=60), settings=Settings(minutes_a_day=45))
    kinds = [step.kind for step in made.steps]
    assert kinds[2:5] == [StepKind.PIECE, StepKind.REST, StepKind.PIECE]


def test_after_three_missed_days_the_plan_gets_smaller() -> None:
    lengths = {later: plan(*begun(), PRACTISED, days_later=later).minutes for later in range(1, 30)}
    assert {lengths[later] for later in (1, 2, 3)} == {20}
    assert {lengths[later] for later in range(4, 30)} == {10}
    assert missed_days(progress_of(*begun(), PRACTISED), Settings(), DAY + timedelta(days=4)) == 3


def test_days_that_were_not_meant_are_not_missed() -> None:
    """Who means to play on Mondays alone has missed nothing on Sunday, three Mondays in the fourth week."""
    mondays = Settings(practice_days=(0,))
    missed = [
        missed_days(progress_of(*begun(), PRACTISED), mondays, DAY + timedelta(days=n)) for n in range(30)
    ]
    assert DAY.weekday() == 0
    assert missed[:8] == [0] * 8
    assert [missed[n] for n in (8, 14, 15, 22, 29)] == [1, 1, 2, 3, 4]
    assert plan(*begun(), PRACTISED, days_later=7, settings=mondays).minutes == 20
    assert plan(*begun(), PRACTISED, days_later=22, settings=mondays).minutes == 10


def test_on_a_day_off_rest_is_fine() -> None:
    mondays = Settings(practice_days=(0,))
    said = [plan(*begun(), PRACTISED, days_later=later, settings=mondays).standing for later in (0, 1, 7)]
    assert [DAY_OFF_WORDS in each for each in said] == [False, True, False]
    assert DAY_OFF_WORDS not in plan(*begun(), PRACTISED, days_later=1).standing


def test_what_was_done_today_is_marked() -> None:
    at = (*begun(), KEY)
    made = plan(*at, TimeSpent("tune", 60.0), TimeSpent("ear", 200.0), days_later=0)
    marks = {step.kind: step.done for step in made.steps}
    assert marks[StepKind.TUNE]
    assert marks[StepKind.EAR]
    assert not marks[StepKind.PIECE]
    answered = DrillAnswered("d", "d:x:any:any:tap", 1, "guitar", 0, True, 1.0, None, None, "sure")
    for count, ear_done in ((7, False), (8, True)):  # quick ears are done sooner
        quick = plan(*at, *[answered] * count, days_later=0)
        assert [step.done for step in quick.steps if step.kind is StepKind.EAR] == [ear_done]
    enough = plan(*at, TimeSpent("piece", 800.0, "p", "A", Stage.MELODY), days_later=0)
    assert all(step.done for step in enough.steps if step.kind is StepKind.PIECE)


def test_the_aim_is_asked_once_section_a_is_good_enough() -> None:
    assert not plan(*begun(), *section_done("A")[:-1]).ask_aim
    assert plan(*begun(), *section_done("A")).ask_aim
