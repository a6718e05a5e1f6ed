from datetime import timedelta

from hypothesis import given

from coach.practice.events import Event, LineReopened, LineSettled, NoteChecked, TimeSpent
from coach.practice.fold import fold_all
from coach.practice.logbook import pace_points, search, skill_grid, weeks, whereabouts
from coach.practice.piece_state import Milestone
from coach.practice.sentences import sentence, titles_of
from coach.practice.stages import Stage
from tests.event_strategies import events
from tests.practice.test_fold import answer
from tests.practice_steps import START, begun, finished, logged, progress_of, section_done

DAY = START.date()


@given(events())
def test_every_event_is_one_sentence(event: Event) -> None:
    said = sentence(event, {})
    assert said
    assert "None" not in said.replace(str(getattr(event, "text", "")), "") or "None" in repr(event)


def test_sentences_name_what_happened() -> None:
    progress = progress_of(*finished())
    said = [sentence(each.event, titles_of(progress.pieces)) for each in logged(finished())]
    assert said[0] == "“P” was taken in hand."
    assert "Cut into sections A, B." in said
    assert "Melody of section A: 3 notes written (tap)." in said
    assert said[-1] == "“P” is finished."


def test_a_search_finds_all_words_whatever_their_case() -> None:
    progress = progress_of(*finished())
    found = list(search(logged(finished()), "BASS good", titles_of(progress.pieces)))
    assert [each.event for each, _ in found] == [LineSettled("p", s, "bass") for s in ("A", "B")]
    assert len(list(search(logged(finished()), DAY.isoformat(), {}))) == len(finished())
    assert list(search(logged(finished()), "nowhere", {})) == []


def test_weeks_leave_none_out() -> None:
    log = list(logged([TimeSpent("ear", 120.0), TimeSpent("piece", 60.0)], minutes=60 * 24 * 15))
    found = weeks(fold_all(log).days)
    assert [(week.monday - DAY).days for week in found] == [0, 7, 14]
    assert [(week.ear, week.piece) for week in found] == [(2.0, 0.0), (0.0, 0.0), (0.0, 1.0)]
    assert weeks(()) == ()


def test_the_grid_of_skills() -> None:
    progress = progress_of(
        answer("echo:5", credit=1.0), answer("echo:5", credit=0.0), answer("bass:1", credit=1)
    )
    assert [(cell.skill, cell.drill, cell.answers, cell.sureness) for cell in skill_grid(progress)] == [
        ("bass:1", "bass", 1, 1.0),
        ("echo:5", "echo", 2, 0.5),
    ]


def test_milestones_make_the_pace() -> None:
    log = list(logged((*begun(), *section_done("A")), minutes=60 * 12))
    piece = fold_all(log).pieces["p"]
    assert [(m.section, m.stage) for m in piece.milestones] == [
        ("A", Stage.MELODY),
        ("A", Stage.BASS),
        ("A", Stage.TOGETHER),
        ("A", Stage.PLAYED),
    ]
    points = pace_points(piece)
    assert points[0].share == 0.0
    assert [point.share for point in points[1:]] == [1 / 8, 2 / 8, 3 / 8, 4 / 8]
    assert [point.day for point in points] == sorted({point.day for point in points})


def test_a_reopened_stage_is_reached_again_but_counts_once() -> None:
    again = (LineReopened("p", "A", "bass"), LineSettled("p", "A", "bass"))
    piece = progress_of(*begun(), *section_done("A"), *again).pieces["p"]
    assert piece.milestones[-1] == Milestone("A", Stage.BASS, DAY)
    assert pace_points(piece)[-1].share == 0.5


def test_whereabouts_tell_who_is_stuck_where_since_when() -> None:
    melody = section_done("A")[:3]
    hard = [TimeSpent("piece", 3000.0, "p", "A", Stage.BASS)] * 3
    check = NoteChecked("p", "A", "bass", 0.0, 1.0, 40, "not_heard", None, 0.9)
    log = list(logged((*begun(), *melody)))
    first = log[-1].seq
    log += logged(hard, START + timedelta(days=1), minutes=60 * 24)
    log += logged([check], START + timedelta(days=3))
    progress = fold_all(log)
    at = whereabouts(progress)
    assert first == 6
    assert at is not None
    assert (at.section, at.stage, at.since, at.practice_days) == ("A", Stage.BASS, DAY, 3)
    assert (at.minutes, at.checks) == (150.0, 1)
    assert at.stuck
    quick = whereabouts(progress_of(*begun(), *melody))
    assert quick is not None
    assert not quick.stuck
    assert whereabouts(progress_of()) is None
    assert whereabouts(progress_of(*begun(), *section_done("A"), *section_done("B", 16))) is None
