"""The screen's thread, as the presenters know it."""

from collections.abc import Callable

from kivy.clock import Clock


class KivyCalls:
    """The `UiCalls` port by Kivy's clock, which may be called from any thread."""

    def later(self, call: Callable[[], None]) -> None:
        """Run the call at the next frame."""
        Clock.schedule_once(lambda _passed: call(), 0)


LAYOUT_ROUNDS = 60
"""Columns in rows in cards settle within one frame; Kivy's own 10 rounds spread it over several and warn."""


def prepare_clock() -> None:
    """Let every layout settle within one frame."""
    Clock.max_iteration = LAYOUT_ROUNDS
