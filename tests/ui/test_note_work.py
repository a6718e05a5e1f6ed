"""The note in question when what was heard turns out to be none."""

from collections.abc import Callable
from typing import Any

import pytest

from coach.ui.presenters.note_work import NoteWork
from coach.ui.presenters.workbench_view import Step
from tests.ui.bench_room import BenchRoom, opened, view_of


@pytest.mark.parametrize("bump", [NoteWork.hear, NoteWork.go_on])
def test_a_bump_leaves_everything_as_it_was(bump: Callable[[NoteWork, int], None], monkeypatch: Any) -> None:
    presenter = opened(BenchRoom(), monkeypatch)
    presenter.work(NoteWork.unhear)  # of nothing
    presenter.work(lambda note: note.hear(67))
    before = view_of(presenter)
    presenter.work(lambda note: bump(note, 45))
    presenter.work(lambda note: note.correct(46))
    presenter.work(NoteWork.unhear)
    presenter.work(NoteWork.unhear)  # of what is gone already
    assert view_of(presenter) == before
    presenter.work(lambda note: note.go_on(69))
    assert (view_of(presenter).step, view_of(presenter).said) == (Step.FIND, "I heard you: A.")


def test_what_was_tapped_since_is_kept_when_a_bump_is_taken_back(monkeypatch: Any) -> None:
    presenter = opened(BenchRoom(), monkeypatch)
    presenter.work(lambda note: note.hear(45))
    presenter.tap(2, 2)
    presenter.work(NoteWork.unhear)
    assert view_of(presenter).step is Step.PLACE
    assert presenter._work.candidate == 61
