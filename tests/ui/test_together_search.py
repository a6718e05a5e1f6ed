"""The search for a way to play both lines: what is shown while it goes on, and when it is stopped."""

from pathlib import Path

from coach.errors import CancelledError
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.search_hooks import hooks_of
from coach.ui.presenters.together import TogetherPresenter
from coach.ui.presenters.together_view import THIRD_NOTE, TogetherView
from coach.ui.presenters.together_wishing import STILL_LOOKING
from coach.ui.presenters.view import PageView, Ready, Working
from tests.ui.neck_room import TOO_WIDE, room_with, view_of
from tests.ui.stage import Now, Went


def test_a_stopped_search_keeps_the_best_it_has() -> None:
    class Stopped:
        told = 0

        def progress(self, share: float, what: str) -> None:
            self.told += 1
            raise CancelledError("Stopped.")

    jobs = Stopped()
    hooks = hooks_of(jobs, "Looking", lambda _way: None)
    hooks.on_progress(0.001)
    assert not hooks.cancelled()
    hooks.on_progress(0.5)
    assert hooks.cancelled()
    assert jobs.told == 1


def test_what_is_found_first_is_shown_while_the_search_goes_on(tmp_path: Path) -> None:
    presenter = TogetherPresenter(room_with(tmp_path, TOO_WIDE), "A", Now(), InlineRunner(), Went())
    seen: list[PageView[TogetherView]] = []
    presenter.watch(seen.append)
    presenter.opened()
    ready = [view.value for view in seen if isinstance(view, Ready)]
    assert ready[0].said == STILL_LOOKING
    assert ready[0].action == "Stop looking"
    assert ready[0].neck.notes
    assert ready[-1].action == "Use this change"
    after = seen[seen.index(next(view for view in seen if isinstance(view, Ready))) :]
    assert not any(isinstance(view, Working) for view in after)


def test_an_answer_given_meanwhile_stays_when_the_search_ends(tmp_path: Path) -> None:
    presenter = TogetherPresenter(room_with(tmp_path, TOO_WIDE), "A", Now(), InlineRunner(), Went())

    def meddle(view: PageView[TogetherView]) -> None:
        if isinstance(view, Ready) and view.value.said == STILL_LOOKING:
            presenter.tap(2, 11)

    presenter.watch(meddle)
    presenter.opened()
    assert view_of(presenter).action == "Use this change"
    assert view_of(presenter).said == THIRD_NOTE
