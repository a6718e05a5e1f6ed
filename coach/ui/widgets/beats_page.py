"""A page on which beats can be put right: keys go to its panel, and a line follows what sounds."""

from collections.abc import Sequence
from typing import Any

from kivy.clock import Clock
from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.widgets.beat_panel import BeatPanel
from coach.ui.widgets.page import Page

CURSOR_S = 1 / 30


class BeatsPage(Page):
    """A page that may hold a `BeatPanel`."""

    panel: BeatPanel | None = None

    def __init__(self, context: ScreenContext, presenter: Any) -> None:  # noqa: ANN401 - each page narrows it
        super().__init__(context, presenter)
        self._clock = Clock.schedule_interval(self._follow, CURSOR_S)

    @override
    def arrow(self, direction: str) -> bool:
        """Left and right go along the beats."""
        return self.panel is not None and self.panel.arrow(direction)

    @override
    def key(self, code: int, text: str, modifiers: Sequence[str]) -> bool:
        """Keys of the beat, see `BeatPanel.key`."""
        return self.panel is not None and self.panel.key(code, text, modifiers)

    @override
    def closed(self) -> None:
        self._clock.cancel()
        super().closed()

    def _follow(self, _passed_s: float) -> None:
        if self.panel is not None and self.panel.parent is not None:
            self.panel.follow()
