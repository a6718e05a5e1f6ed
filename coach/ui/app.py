"""Starts the app. Kivy is imported when `run` is called, not before: it reads its environment on import."""

import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from coach.sessions.services import Services

NO_DISPLAY = (
    "There is no display on which a window could open. Start “coach” from a desktop, or see the whole job "
    "without a screen: coach demo"
)
LEAST_SIZE = (800, 480)
FIRST_SIZE = (1280, 800)


def run(services: "Services") -> int:
    """Open the app and stay until it is closed; 1 where there is no display or no folder to write to."""
    home = services.data_folder / "kivy"
    try:
        home.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        return _complain(
            f"The folder {services.data_folder} cannot be written to ({error.strerror}): "
            "name another one with coach --data FOLDER"
        )
    _configure()
    from kivy.core.window import Window  # noqa: PLC0415 - opens the display

    # Kivy puts its own logger in the place of sys.stderr: a fault of the program would go unseen.
    sys.stderr = sys.__stderr__
    if Window is None:
        return _complain(NO_DISPLAY)
    from coach.ui.shell import CoachApp  # noqa: PLC0415 - needs the window

    Window.minimum_width, Window.minimum_height = LEAST_SIZE
    CoachApp(services).run()
    return 0


def _configure() -> None:
    """Settings of Kivy's that must stand before its window is made."""
    from kivy.config import Config  # noqa: PLC0415 - reads the environment

    Config.set("kivy", "exit_on_escape", "0")
    Config.set("input", "mouse", "mouse,disable_multitouch")
    Config.set("graphics", "width", str(FIRST_SIZE[0]))
    Config.set("graphics", "height", str(FIRST_SIZE[1]))


def _complain(sentence: str) -> int:
    """Say a sentence where Kivy does not swallow it."""
    if sys.__stderr__ is not None:
        sys.__stderr__.write(sentence + "\n")
    return 1
