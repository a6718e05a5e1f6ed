"""A screen in its five states, as the walks and the pictures want it."""

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from typing import Any

from coach.ui.context import ScreenContext
from coach.ui.presenters.view import Empty, Failed, Missing, PageView, Ready, Working
from tests.ui.stage import Shown

Views = dict[str, PageView[Any]]


def five(ready: object, *, empty: str, work: str, missing: tuple[str, str], failed: tuple[str, str]) -> Views:
    return {
        "empty": Empty(empty, "Go on"),
        "working": Working(work, 0.4),
        "ready": Ready(ready),
        "missing": Missing(*missing, "Look again"),
        "failed": Failed(*failed),
    }


@dataclass(frozen=True)
class Case:
    """A screen's page class, reached late so that Kivy is imported late, and its five views."""

    page: Callable[[ScreenContext, Any], Any]
    views: Views

    def make(self, context: ScreenContext, state: str) -> Any:
        return self.page(context, Shown(self.views[state]))


def page_of(word: str, name: str) -> Callable[[ScreenContext, Any], Any]:
    """The page class of a screen, imported when it is made."""

    def make(context: ScreenContext, presenter: Any) -> Any:
        return getattr(import_module(f"coach.ui.screens.{word}.screen"), name)(context, presenter)

    return make
