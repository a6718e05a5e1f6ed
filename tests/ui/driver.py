# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""Drives a real Kivy window: frames on demand, taps, keys, pixels."""

import struct
import time
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

TAP_FRAMES = 4
"""A scrolled column waits for two frames before it hands a touch on."""
SETTLE_FRAMES = 6
"""Text, columns and scrolled areas need some rounds until every height is known."""


class RealWindow:
    """The one window of this process. Kivy has one window and one app at a time."""

    def __init__(self, kivy_window: Any) -> None:
        self.kivy = kivy_window
        self._pending: set[Any] = set()
        self._app: Any = None
        self._frame: Any = None

    # --- life ---------------------------------------------------------------------------------------------

    def begin(self) -> None:
        from kivy.clock import Clock

        self._pending = set(Clock.get_events())
        self.resize(1280, 800)

    def end(self) -> None:
        """Take everything out and cancel what a test has left ticking."""
        from kivy.app import App
        from kivy.base import EventLoop
        from kivy.clock import Clock

        if self._frame is not None:
            self._frame.clear()
        if self._app is not None:
            self._app.dispatch("on_stop")
            App._running_app = None
        self._app = self._frame = None
        for child in self.kivy.children[:]:
            self.kivy.remove_widget(child)
        EventLoop.touches.clear()
        self.frames(1)
        for event in Clock.get_events():
            if event not in self._pending:
                event.cancel()

    def resize(self, width: int, height: int) -> None:
        from coach.ui.density import fit_density

        self.kivy.size = (width, height)
        self.frames(1)
        assert tuple(self.kivy.size) == (width, height)
        fit_density(width, height)

    # --- showing ------------------------------------------------------------------------------------------

    def show(self, page: Any, place: str = "today") -> Any:
        """A page in a frame of its own look; gives the page back."""
        from coach.ui.frame import Frame

        if self._frame is not None:
            self._frame.clear()
            self.kivy.remove_widget(self._frame)
        self._frame = Frame(page.look, page.context.go)
        self.kivy.add_widget(self._frame)
        self._frame.show(page, place)
        self.kivy.bind(on_key_down=self._frame.keys.down)
        self.frames(SETTLE_FRAMES)
        return page

    def start(self, app: Any) -> Any:
        """A whole app, but for its blocking loop; gives the app back."""
        self._app = app
        app._run_prepare()
        self.frames(SETTLE_FRAMES)
        return app

    @property
    def frame(self) -> Any:
        return self._frame if self._frame is not None else self._app.frame

    # --- time ---------------------------------------------------------------------------------------------

    def frames(self, count: int = 3) -> None:
        """Let frames pass: clock, input and layout as in the app's loop, but drawn only by `pixels`."""
        from kivy.base import EventLoop
        from kivy.clock import Clock
        from kivy.lang import Builder

        for _ in range(count):
            Clock.tick()
            EventLoop.dispatch_input()
            Builder.sync()
            Clock.tick_draw()
            Builder.sync()

    def wait(self, seconds: float) -> None:
        """Let true time pass, frame by frame."""
        for _ in range(round(seconds / 0.01)):
            time.sleep(0.01)
            self.frames(1)

    def until(self, condition: Callable[[], bool], patience_s: float = 60.0) -> None:
        """Let true time pass until something is so: work in other threads is not counted in frames."""
        give_up_s = time.monotonic() + patience_s
        while not condition():
            assert time.monotonic() < give_up_s, f"not so after {patience_s} s"
            self.wait(0.01)

    # --- hands --------------------------------------------------------------------------------------------

    def tap(self, widget: Any, across: float = 0.5, up: float = 0.5) -> None:
        """Tap a widget at a share of its width and height."""
        from kivy.tests.common import UnitTestTouch

        touch = UnitTestTouch(
            *widget.to_window(widget.x + across * widget.width, widget.y + up * widget.height)
        )
        touch.touch_down()
        self.frames(1)
        touch.touch_up()
        self.frames(SETTLE_FRAMES)

    def tap_words(self, words: str) -> None:
        """Tap the button that says so."""
        self.tap(self.button(words))

    def key(self, key: int, text: str | None = None, modifiers: tuple[str, ...] = ()) -> None:
        self.kivy.dispatch("on_key_down", key, 0, text, list(modifiers))
        self.frames(TAP_FRAMES)

    def _draw(self) -> None:
        self.kivy.canvas.ask_update()
        self.kivy.dispatch("on_draw")

    # --- eyes ---------------------------------------------------------------------------------------------

    def walk(self) -> Iterator[Any]:
        for child in self.kivy.children:
            yield from child.walk(restrict=True)

    def button(self, words: str) -> Any:
        found = [
            widget
            for widget in self.walk()
            if getattr(widget, "said", None) == words and hasattr(widget, "press_by_key")
        ]
        assert found, f"no button says “{words}”; there are {self.buttons()}"
        return found[0]

    def buttons(self) -> list[str]:
        return [
            widget.said
            for widget in self.walk()
            if hasattr(widget, "press_by_key") and hasattr(widget, "said")
        ]

    def words(self) -> str:
        """All that is written on the screen, a line each."""
        from kivy.uix.label import Label

        return "\n".join(
            getattr(widget, "said", widget.text) for widget in self.walk() if isinstance(widget, Label)
        )

    def pixels(self) -> NDArray[np.uint8]:
        """What is drawn now, shape (height, width, 3), top row first (not the stale back buffer)."""
        from kivy.graphics.opengl import GL_RGBA, GL_UNSIGNED_BYTE, glReadPixels

        self.frames(2)
        self._draw()
        width, height = (int(side) for side in self.kivy.size)
        raw = glReadPixels(0, 0, width, height, GL_RGBA, GL_UNSIGNED_BYTE)
        return np.frombuffer(raw, np.uint8).reshape(height, width, 4)[::-1, :, :3]

    def picture(self, path: Path) -> None:
        """Write what is drawn as a PNG (ISO/IEC 15948), by the standard library alone."""
        pixels = self.pixels()
        height, width, _ = pixels.shape
        rows = np.concatenate([np.zeros((height, 1), np.uint8), pixels.reshape(height, -1)], axis=1)

        def chunk(kind: bytes, data: bytes) -> bytes:
            return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

        head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
        data = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows.tobytes(), 6)) + chunk(b"IEND", b"")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"\x89PNG\r\n\x1a\n" + data)


def configure() -> None:
    """Settle what the window will be like; before the first import of anything that draws."""
    from kivy.config import Config

    # As large as any test needs: in memory the surface never grows beyond its first size.
    for key, value in {"width": 2560, "height": 1600, "multisamples": 0, "vsync": 0, "maxfps": 0}.items():
        Config.set("graphics", key, str(value))
    for key, _ in Config.items("input"):
        Config.remove_option("input", key)  # neither a real mouse nor a real touch screen may disturb a test


def open_window() -> RealWindow:
    """The one window of this process (see conftest for its environment)."""
    from kivy.core.window import Window

    assert Window is not None, "no window: run under xvfb-run or with SDL_VIDEODRIVER=offscreen"
    from coach.ui.calls import prepare_clock

    prepare_clock()
    Window.register()
    Window.initialized = True
    return RealWindow(Window)
