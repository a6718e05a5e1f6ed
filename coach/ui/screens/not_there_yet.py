"""What is shown for a screen that is planned and not built."""

from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.view import Empty
from coach.ui.screens.table import screen
from coach.ui.widgets.page import Page


class NotThereYet(Page):
    """Says so, and what the screen will be for."""

    def __init__(self, context: ScreenContext, word: str) -> None:
        super().__init__(context)
        meant = screen(word)
        self.show(
            Empty(f"{meant.title} is not there yet. It will be for this: {meant.purpose}.", "Back to Today")
        )

    @override
    def press_action(self) -> None:
        """Back to Today."""
        self.context.go("today")
