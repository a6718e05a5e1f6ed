"""The workbench at a section's end: all is asked about, then called good enough; empty bars are named."""

from fractions import Fraction
from typing import Any

from coach.practice.events import LineSettled
from coach.ui.presenters.workbench import WorkbenchPresenter
from coach.ui.presenters.workbench_view import Step
from tests.ui.bench_room import BenchRoom, opened, view_of


def written(presenter: WorkbenchPresenter, midi: int, onsets: range) -> None:
    """Write quarter notes of one pitch."""
    for onset in onsets:
        presenter.work(lambda note, onset=onset: note.choose(Fraction(onset)))
        presenter.work(lambda note: note.propose(midi))
        presenter.act()


def test_at_the_end_the_next_step_is_to_ask_and_then_to_call_it_good_enough(monkeypatch: Any) -> None:
    room = BenchRoom()
    presenter = opened(room, monkeypatch)
    written(presenter, 61, range(16))
    assert (view_of(presenter).step, view_of(presenter).action) == (Step.ASK_ALL, "Check all")
    presenter.act()
    for _ in range(17):
        presenter.look_up()
    view = view_of(presenter)
    assert (view.step, view.action, view.second) == (Step.ENOUGH, "Good enough for now", "")
    presenter.act()
    assert [event.open_questions for event in room.events(LineSettled)] == [0]


def test_what_is_not_heard_is_named_before_the_line_is_called_good_enough(monkeypatch: Any) -> None:
    presenter = opened(BenchRoom(), monkeypatch)
    written(presenter, 61, range(15))
    written(presenter, 66, range(15, 16))
    presenter.check_all()
    for _ in range(17):
        presenter.look_up()
    view = view_of(presenter)
    assert (view.step, view.second) == (Step.GO_ON, "Good enough for now")
    assert view.sentence.startswith("One note is marked")


def test_empty_bars_are_named_before_a_line_is_called_good_enough(monkeypatch: Any) -> None:
    room = BenchRoom()
    presenter = opened(room, monkeypatch)
    written(presenter, 61, range(2))
    presenter.settle()
    assert view_of(presenter).said.startswith("The last 3 bars have no notes yet.")
    assert view_of(presenter).second == "Keep it as it is"
    presenter.work(lambda note: note.choose(Fraction(2)))
    assert view_of(presenter).second == "Good enough for now", "whoever goes on is asked anew"
    presenter.settle()
    presenter.settle()
    assert len(room.events(LineSettled)) == 1
