"""The watchdog with times made up: it never waits."""

import pytest

from coach.audio.watchdog import FAILED_WAITS_S, FIRST_WAITS_S, QUIET_S, Advice, Watchdog
from coach.sessions.ports import StreamState


def test_a_running_stream_is_lost_after_a_second_of_quiet() -> None:
    dog = Watchdog(0.0)
    assert dog.look(0.1, 1) is Advice.GO_ON
    assert dog.state is StreamState.RUNNING
    assert dog.look(0.1 + QUIET_S, 1) is Advice.GO_ON
    assert dog.look(0.2 + QUIET_S, 1) is Advice.REOPEN
    assert dog.state is StreamState.LOST


def test_a_new_stream_may_take_five_seconds() -> None:
    dog = Watchdog(0.0)
    assert dog.look(4.9, 0) is Advice.GO_ON
    assert dog.state is StreamState.WAITING
    assert dog.look(5.1, 0) is Advice.REOPEN


@pytest.mark.parametrize(("fails", "waits_s"), [(False, FIRST_WAITS_S), (True, FAILED_WAITS_S)])
def test_waits_grow_with_each_attempt(fails: bool, waits_s: tuple[float, ...]) -> None:  # noqa: FBT001
    dog = Watchdog(0.0)
    dog.look(0.1, 1)
    now_s = 2.0
    assert dog.look(now_s, 1) is Advice.REOPEN
    for wait_s in (*waits_s, waits_s[-1]):
        (dog.failed if fails else dog.opened)(now_s, 1)
        assert dog.look(now_s + wait_s - 0.01, 1) is Advice.GO_ON
        assert dog.state is StreamState.LOST
        now_s += wait_s + 0.01
        assert dog.look(now_s, 1) is Advice.REOPEN


def test_the_first_callback_after_a_loss_means_running() -> None:
    dog = Watchdog(0.0)
    dog.look(0.1, 1)
    dog.look(2.0, 1)
    dog.opened(2.0, 1)
    assert dog.look(3.0, 2) is Advice.GO_ON
    assert dog.state is StreamState.RUNNING
    assert dog.look(4.1, 2) is Advice.REOPEN


def test_a_program_that_stood_still_does_not_take_the_device_for_lost() -> None:
    """A laptop's lid, a busy disk: neither the callbacks nor the watchdog ran meanwhile."""
    dog = Watchdog(0.0)
    dog.look(0.1, 1)
    dog.stood_still(3.0)
    assert dog.look(3.2, 1) is Advice.GO_ON
    assert dog.state is StreamState.RUNNING
    assert dog.look(3.2 + QUIET_S, 1) is Advice.REOPEN, "quiet all the same while it runs"
