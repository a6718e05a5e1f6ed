"""The real window for tests: one for the whole process, a fresh app or page in it for each test."""

import os
import tempfile

# Kivy reads its environment when it is first imported, so all of this comes before any such import.
_HOME = tempfile.TemporaryDirectory(prefix="coach-kivy-")
os.environ["KIVY_HOME"] = _HOME.name
for _name in ("KIVY_NO_ARGS", "KIVY_NO_CONSOLELOG", "KIVY_NO_FILELOG", "KIVY_USE_DEFAULTCONFIG"):
    os.environ[_name] = "1"
os.environ |= {
    "KIVY_METRICS_DENSITY": "1",
    "KIVY_METRICS_FONTSCALE": "1",
    "KIVY_DPI": "96",
    "KIVY_WINDOW": "sdl2",
    # Else each text field looks for clipboard programs that a bare machine does not have.
    "KIVY_CLIPBOARD": "sdl2",
    # Kivy would else put its logger in the place of sys.stderr and swallow tracebacks.
    "KIVY_LOG_MODE": "PYTHON",
}
# Software graphics in one thread: more threads only fight for the cores.
os.environ.setdefault("LP_NUM_THREADS", "1")
if not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
    # A true window in memory, with true drawing, where there is no desktop.
    os.environ["SDL_VIDEODRIVER"] = "offscreen"

from collections.abc import Iterator  # noqa: E402

import pytest  # noqa: E402

from tests.ui.driver import RealWindow, configure, open_window  # noqa: E402

configure()


@pytest.fixture(scope="session")
def only_window() -> RealWindow:
    return open_window()


@pytest.fixture
def window(only_window: RealWindow) -> Iterator[RealWindow]:
    """A real window of 1280x800; shows pages or a whole app, taps, types, reads pixels."""
    only_window.begin()
    yield only_window
    only_window.end()
