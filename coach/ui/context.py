"""What every screen is handed: how it looks, what it may reach, where it can go."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

from coach.sessions.ports import UiCalls
from coach.ui.jobs import JobRunner
from coach.ui.theme import Look

if TYPE_CHECKING:
    from coach.sessions.practice_room import PracticeRoom
    from coach.sessions.services import Services


class Go(Protocol):
    """The way to another screen."""

    def __call__(self, word: str, **about: str) -> None:
        """Show the screen of that word (see `coach.ui.screens.table`); ``about`` says what it is about."""
        ...


@dataclass(frozen=True, slots=True)
class ScreenContext:
    """Handed to ``build`` of each screen.

    Parameters
    ----------
    look
        Theme, text size and the player's ways; hand it to every widget.
    services
        Log, library, devices and the like; presenters take what they need of it.
    room
        The one journal (writer of the log) and the one studio (microphone, ear, loudspeaker) that all screens
        share; opened when first asked for.
    later, jobs
        For presenters: the screen's thread, and long work beside it.
    go
        Shows another screen; ``restart`` shows this one anew after a changed setting.
    about
        What the screen is to be about, such as ``{"section": "A", "line": "melody"}``.
    """

    look: Look
    services: "Services"
    room: "PracticeRoom"
    later: UiCalls
    jobs: JobRunner
    go: Go
    about: Mapping[str, str] = field(default_factory=dict)
