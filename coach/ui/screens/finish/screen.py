"""Planned: see the table of screens."""

from coach.ui.context import ScreenContext
from coach.ui.screens.not_there_yet import NotThereYet
from coach.ui.widgets.page import Page


def build(context: ScreenContext) -> Page:
    """The page that says so."""
    return NotThereYet(context, "finish")
