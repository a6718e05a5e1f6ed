import math
from collections.abc import Collection
from datetime import date, timedelta
from itertools import islice
from random import Random
from statistics import NormalDist, mean

import pytest

from coach.practice.events import AimSet, Event, LineReopened, LineWritten, LoggedEvent, TimeSpent
from coach.practice.fold import fold, fold_all
from coach.practice.forecast import _range, forecast, work_left
from coach.practice.habits import Habits
from coach.practice.pace import PRIOR_MINUTES_A_BAR, Pace, PossiblePace, StageSample, samples
from coach.practice.progress import Progress
from coach.practice.proposals import SIMPLER_BASS, outlook
from coach.practice.rules import allowed
from coach.practice.settings import Settings
from coach.practice.stages import SECTION_STAGES, Stage
from coach.practice.weekdays import weekday_shares
from tests.bench.forecast import follow
from tests.learners import Learner
from tests.practice_steps import START, begun, finished, logged, notes, progress_of, section_done

TODAY = START.date() + timedelta(days=1)


def told(*events: Event, seed: int = 1, settings: Settings | None = None) -> list[date]:
    found = forecast(progress_of(*events), settings or Settings(), TODAY, Random(seed))
    assert found is not None
    return [found.p10, found.p50, found.p90]


def minutes_left(*events: Event) -> float:
    """Mean minutes of what is left, over paces that fit the log."""
    progress = progress_of(*events)
    left, rng = work_left(progress.pieces["p"]), Random(1)
    paces = islice(Pace.of(progress).draws(rng), 400)
    return mean(left.minutes(pace, rng) for pace in paces)


def test_without_a_piece_or_its_sections_nothing_is_told() -> None:
    assert forecast(progress_of(), Settings(), TODAY, Random(1)) is None
    assert forecast(progress_of(begun()[0]), Settings(), TODAY, Random(1)) is None
    assert forecast(progress_of(*finished()), Settings(), TODAY, Random(1)) is None


def test_the_same_chance_gives_the_same_days_in_order() -> None:
    days = told(*begun())
    assert days == told(*begun())
    assert TODAY <= days[0] < days[1] < days[2]


def test_a_day_at_either_end_counts_half() -> None:
    assert _range([3] * 400) == (3, 3, 3)
    assert _range([1] * 50 + [2] * 300 + [3] * 50) == (2, 2, 2)
    assert _range(sorted(range(400))) == (40, 199, 359)
    assert _range([0] * 100 + [7] * 100) == (0, 0, 7)


def test_more_minutes_a_day_and_less_work_come_sooner() -> None:
    usual = told(*begun())
    assert told(*begun(), settings=Settings(minutes_a_day=40))[1] < usual[1]
    assert told(*begun(sections=("A",)))[1] < usual[1]
    assert told(*begun(sections=("A", "B", "C", "D")))[1] > usual[1]


def test_notes_found_tell_how_far_a_line_is() -> None:
    """An hour on a melody: all but there with its notes found, barely begun with three of sixteen."""
    hour = TimeSpent("piece", 3600.0, "p", "A", Stage.MELODY)
    minutes = []
    for count in (15, 8, 3):
        written = LineWritten("p", "A", "melody", notes(0, *[60, 62] * 8)[:count])
        minutes.append(minutes_left(*begun(), written, hour))
    assert minutes == sorted(minutes)
    assert minutes[0] < minutes[2]


def test_notes_found_say_nothing_without_the_time_for_them() -> None:
    written = LineWritten("p", "A", "melody", notes(0, 60, 62))
    assert told(*begun(), written) == told(*begun())


def test_joining_and_the_take_come_nearer_with_the_minutes_spent_on_them() -> None:
    done = (*begun(), *section_done("A"), *section_done("B", 16))
    spent = TimeSpent("piece", 15 * 60.0, "p", None, Stage.PLAYED)
    assert 0 < minutes_left(*done, spent) < minutes_left(*done) - 5


def test_a_finished_day_is_never_in_the_past() -> None:
    done = (*begun(), *section_done("A"), *section_done("B", 16))
    assert told(*done)[0] >= TODAY


def test_pace_starts_at_the_prior_and_moves_to_what_is_seen() -> None:
    pace = Pace.prior()
    assert pace.minutes_a_bar(Stage.BASS) == pytest.approx(PRIOR_MINUTES_A_BAR[Stage.BASS])
    for _ in range(60):
        for stage in SECTION_STAGES:
            pace = pace.after(StageSample(stage, 4, 60 * 4 * 3 * PRIOR_MINUTES_A_BAR[stage]))
    for stage in SECTION_STAGES:
        assert pace.minutes_a_bar(stage) == pytest.approx(3 * PRIOR_MINUTES_A_BAR[stage], rel=0.02)


def test_one_stage_tells_about_the_others_too() -> None:
    slow = StageSample(Stage.MELODY, 4, 60 * 4 * 2 * PRIOR_MINUTES_A_BAR[Stage.MELODY])
    pace = Pace.prior().after(slow)
    assert 1 < pace.minutes_a_bar(Stage.PLAYED) / PRIOR_MINUTES_A_BAR[Stage.PLAYED] < 2
    assert pace.minutes_a_bar(Stage.MELODY) / PRIOR_MINUTES_A_BAR[Stage.MELODY] < 2


def test_the_update_is_the_textbook_one() -> None:
    """For one observation the mean moves by prior variance over total variance (Gelman et al. 2013, 2.5)."""
    prior = PossiblePace.prior(0.15, 0.2, 1.0)
    factor = 1.7
    after = prior.after(StageSample(Stage.BASS, 2, 60 * 2 * factor * PRIOR_MINUTES_A_BAR[Stage.BASS]))
    variance = prior.spread[0][0] + prior.spread[2][2]
    total = variance + 0.2**2
    moved = after.log_minutes_a_bar(Stage.BASS, 1) - prior.log_minutes_a_bar(Stage.BASS, 1)
    assert moved == pytest.approx(variance / total * math.log(factor))
    told = NormalDist(0.0, math.sqrt(total)).pdf(math.log(factor))
    assert after.evidence - prior.evidence == pytest.approx(math.log(told))


def test_how_much_is_chance_is_learned() -> None:
    """The same pace every time makes the narrow answers likely, an erratic one the wide ones."""

    def likely_chance(*factors: float) -> float:
        pace = Pace.prior()
        for factor in factors:
            pace = pace.after(StageSample(Stage.BASS, 4, 60 * 4 * factor * PRIOR_MINUTES_A_BAR[Stage.BASS]))
        assert sum(pace.weights) == pytest.approx(1.0)
        return sum(weight * each.chance for weight, each in zip(pace.weights, pace.possible, strict=True))

    assert likely_chance(*[1.2] * 8) < likely_chance() < likely_chance(*[0.6, 2.0] * 4)


def test_a_player_far_from_the_usual_proportions_is_followed() -> None:
    """Playing takes this player a quarter of what it takes others, the rest as long: one section shows it."""
    pace = Pace.prior()
    for _ in range(2):
        for stage in SECTION_STAGES:
            factor = 0.25 if stage is Stage.PLAYED else 1.0
            pace = pace.after(StageSample(stage, 4, 60 * 4 * factor * PRIOR_MINUTES_A_BAR[stage]))
    assert pace.minutes_a_bar(Stage.PLAYED) < 0.4 * PRIOR_MINUTES_A_BAR[Stage.PLAYED]
    assert pace.minutes_a_bar(Stage.BASS) > 0.75 * PRIOR_MINUTES_A_BAR[Stage.BASS]


def test_settled_stages_are_the_samples() -> None:
    found = list(samples(progress_of(*begun(), *section_done("A", minutes=7))))
    assert [(sample.stage, sample.bars, sample.seconds) for sample in found] == [
        (stage, 4.0, 420.0) for stage in SECTION_STAGES
    ]
    untimed = [event for event in section_done("A") if not isinstance(event, TimeSpent)]
    assert list(samples(progress_of(*begun(), *untimed))) == []


def test_a_reopened_stage_is_less_work_than_a_new_one() -> None:
    done = progress_of(*begun(), *section_done("A"), LineReopened("p", "A", "bass")).pieces["p"]
    left = [stage for stage in work_left(done).stages if stage.number == 1]
    assert [(stage.stage, round(stage.bars, 2)) for stage in left] == [
        (Stage.BASS, 1.33),
        (Stage.TOGETHER, 1.33),
        (Stage.PLAYED, 1.33),
    ]


def habits_after(days: list[int], today: int) -> Habits:
    """Habits of someone who practised ten minutes on these days, counted from a Monday."""
    log = [
        entry
        for day in days
        for entry in logged([TimeSpent("piece", 600.0, "p")], START + timedelta(days=day))
    ]
    return Habits.of(fold_all(log), Settings(), START.date() + timedelta(days=today))


def test_weekdays_are_learned_apart() -> None:
    mondays_and_thursdays = [week * 7 + day for week in range(4) for day in (0, 3)]
    habits = habits_after(mondays_and_thursdays, 28)
    assert habits.practised == (4, 0, 0, 4, 0, 0, 0)
    assert habits.missed == (0, 4, 4, 0, 4, 4, 4)
    assert not habits.absent
    assert habits.minutes == (10.0,) * 8


def mean_shares(*seen: tuple[float, float], meant: Collection[int] = ()) -> list[float]:
    drawn = [shares for _, shares in zip(range(800), weekday_shares(seen, Random(3), meant), strict=False)]
    return [mean(each[day] for each in drawn) for day in range(7)]


def test_what_one_weekday_shows_tells_about_the_others() -> None:
    """With much seen of each, every weekday has its own share; with little, they lean on each other."""
    many = [(40, 2), (4, 38), (21, 21), (40, 2), (0, 42), (40, 2), (2, 40)]
    for share, (yes, no) in zip(mean_shares(*many), many, strict=True):
        assert share == pytest.approx(yes / (yes + no), abs=0.06)
    every = mean_shares(*[(3, 0)] * 6, (0, 0))
    twice = mean_shares((3, 0), *[(0, 3)] * 5, (0, 0))
    assert every[6] > 0.6
    assert twice[6] < 0.4


def test_the_days_that_were_meant_count_until_others_are_seen() -> None:
    """Nothing seen: the weekend that was named. Half a year of Wednesdays: those, whatever was said."""
    unseen = mean_shares(*[(0, 0)] * 7, meant={5, 6})
    assert min(unseen[5:]) > 2 * max(unseen[:5])
    assert mean_shares(*[(0, 0)] * 7) == pytest.approx([mean(mean_shares(*[(0, 0)] * 7))] * 7, abs=0.06)
    wednesdays = mean_shares((0, 26), (0, 26), (25, 1), *[(0, 26)] * 4, meant={5, 6})
    assert wednesdays[2] > 0.85
    assert max(wednesdays[5:]) < 0.15


def test_more_days_meant_come_sooner() -> None:
    one, many = (told(*begun(), settings=Settings(practice_days=days))[1] for days in ((0,), (0, 1, 2, 4, 5)))
    assert many < one


def test_a_day_for_the_ear_alone_is_one_without_minutes_for_the_piece() -> None:
    log = [
        *logged([TimeSpent("ear", 240.0)]),
        *logged([TimeSpent("piece", 600.0)], START + timedelta(days=1)),
    ]
    log += logged([TimeSpent("ear", 240.0)], START + timedelta(days=2))
    assert Habits.of(fold_all(log), Settings(), START.date() + timedelta(days=3)).minutes == (10.0, 0.0)


def test_a_break_is_no_habit() -> None:
    habits = habits_after([*range(10), *range(24, 30)], 30)
    assert habits.breaks == (14,)
    assert sum(habits.missed) == 0
    assert habits_after(list(range(10)), 20).absent
    assert not habits_after(list(range(10)), 12).absent


def test_once_a_week_is_no_row_of_breaks() -> None:
    habits = habits_after([0, 7, 14, 21], 28)
    assert habits.breaks == ()
    assert not habits.absent


def day_by_day(*events: Event) -> tuple[Progress, date]:
    """Progress with an event a day, and the day after the last."""
    log = list(logged(events, minutes=24 * 60))
    return fold_all(log), log[-1].at.date() + timedelta(days=1)


def test_smaller_work_is_offered_only_when_the_aim_slips() -> None:
    at = (*begun(sections=("A", "B", "C", "D")), *section_done("A"))
    late, today = day_by_day(*at, AimSet("p", TODAY + timedelta(days=900)))
    assert outlook(late, Settings(), today).proposals == ()
    progress, today = day_by_day(*at, AimSet("p", TODAY))
    soon = outlook(progress, Settings(), today)
    assert soon.on_track is False
    assert soon.forecast is not None
    assert [(offer.title == SIMPLER_BASS, offer.dropped_sections) for offer in soon.proposals] == [
        (True, ()),
        (False, ("D",)),
        (False, ("C", "D")),
    ]
    days = [offer.day for offer in soon.proposals]
    assert days[2] < days[1] < soon.forecast.p50
    assert days[0] < soon.forecast.p50


def test_accepting_is_one_event_and_changes_the_forecast() -> None:
    at = (*begun(sections=("A", "B", "C")), *section_done("A"), AimSet("p", TODAY))
    progress, today = day_by_day(*at)
    before = outlook(progress, Settings(), today)
    assert before.proposals
    for offer in before.proposals:
        event = offer.accepted("p")
        assert allowed(progress, event) is None
        after = fold(progress, LoggedEvent(progress.seq + 1, progress.at or START, event))
        told = outlook(after, Settings(), today).forecast
        assert told is not None
        assert told.p50 == offer.day


def test_without_an_aim_it_is_asked_for_once_the_pace_is_known() -> None:
    assert outlook(progress_of(*begun()), Settings(), TODAY).advice is None
    asked = outlook(progress_of(*begun(), *section_done("A")), Settings(), TODAY)
    assert asked.on_track is None
    assert asked.advice is not None
    assert asked.advice.endswith("?")


def test_coverage_over_a_few_simulated_learners() -> None:
    """A small sample of ``tests/bench/forecast.py``; the band is four standard errors around its 80 %."""
    inside = []
    for number in range(10):
        rng = Random(number)
        inside += [each.inside for each in follow(Learner.drawn(rng), rng, moments=2) or []]
    assert 0.52 <= sum(inside) / len(inside) <= 1.0
