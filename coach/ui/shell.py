"""The shell: a window, the frame in it, and the way from screen to screen. Importing it imports Kivy."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from kivy.app import App
from kivy.base import ExceptionHandler, ExceptionManager
from kivy.clock import Clock
from kivy.core.window import Window
from typing_extensions import override

from coach.errors import CoachError
from coach.sessions.practice_room import PracticeRoom
from coach.ui.activity import activity_of
from coach.ui.calls import KivyCalls, prepare_clock
from coach.ui.context import ScreenContext
from coach.ui.density import fit_density
from coach.ui.drawing import rgba
from coach.ui.frame import Frame
from coach.ui.jobs import ThreadRunner
from coach.ui.presenters.files import ERRANDS
from coach.ui.screens.table import places_for, screen
from coach.ui.theme import look_of
from coach.ui.widgets.page import Page

if TYPE_CHECKING:
    from coach.sessions.services import Services

TITLE = "Two-Line Coach"
NOT_DONE = "That could not be done. Nothing that was kept before is lost."
TAKEN_IN_ONCE = {
    "setup": {"file", "recording", "pack"},
    "piece": {"recording"},
    "keep": {"folder"},
    "teacher": {"folder"},
}
"""What a screen is handed to be taken in at once: not again where it is only shown anew."""
RESIZE_PAUSE_S = 0.3
"""A window that is being drawn larger is fitted when it has come to rest."""


def first_word(services: "Services") -> str:
    """Today; where nothing was ever practised the first run, without a page between."""
    try:
        log = services.read_log()
    except CoachError:
        return "today"  # which says what is wrong, and what to do
    try:
        return "today" if log.progress().seq else "first_run"
    except CoachError:
        return "today"
    finally:
        log.close()


class Troubles(ExceptionHandler):
    """Keeps the app open where an action ends in an error that a user may see, such as a full disk."""

    def __init__(self, tell: Callable[[CoachError], None]) -> None:
        super().__init__()
        self._tell = tell

    @override
    def handle_exception(self, inst: BaseException) -> int:
        """Say the error's sentence on the page; anything else is a fault of the program."""
        if isinstance(inst, CoachError):
            self._tell(inst)
            return int(ExceptionManager.PASS)
        return int(ExceptionManager.RAISE)


class CoachApp(App):
    """Shows one screen at a time.

    Parameters
    ----------
    services
        Everything the screens may reach.
    first
        The word of the screen to begin with; by default Today, and on the very first day the first run.
    """

    title = TITLE

    def __init__(self, services: "Services", first: str | None = None) -> None:
        super().__init__()
        self._services = services
        self._room = PracticeRoom(services, lambda error: self._later.later(lambda: self.trouble(error)))
        self._troubles = Troubles(self.trouble)
        self._first = first
        self._later = KivyCalls()
        self._jobs = ThreadRunner(self._later)
        self._word = first or "today"
        self._about: dict[str, str] = {}
        self._frame: Frame | None = None
        self._resized = Clock.create_trigger(self._refit, RESIZE_PAUSE_S)

    @override
    def load_kv(self, filename: str | None = None) -> bool:
        """No kv files: widgets are made in Python."""
        return False

    @override
    def load_config(self) -> None:
        """No settings of Kivy's own."""

    @override
    def build(self) -> Frame:
        """The frame with the first screen."""
        prepare_clock()
        fit_density(*Window.size)
        self._dress()
        self.go(self._first or first_word(self._services))
        Window.bind(on_key_down=self._key, size=self._resized)
        ExceptionManager.add_handler(self._troubles)
        return self.frame

    @override
    def on_stop(self) -> None:
        """Close the screen, so that nothing listens or plays on."""
        ExceptionManager.remove_handler(self._troubles)
        Window.unbind(on_key_down=self._key, size=self._resized)
        self._resized.cancel()
        if self._frame is not None:
            self._frame.clear()
        self._room.close()

    @property
    def room(self) -> PracticeRoom:
        """What all screens share."""
        return self._room

    @property
    def word(self) -> str:
        """The screen shown now."""
        return self._word

    @property
    def frame(self) -> Frame:
        """The frame; `ValueError` before the app was built."""
        if self._frame is None:
            raise ValueError("the app has no frame yet")
        return self._frame

    def go(self, word: str, **about: str) -> None:
        """Show a screen; the word ``restart`` shows this one anew after a changed setting.

        Where the ring was stays then, and what it was about, unless something else is said: what was handed
        to it before, such as a file, is not taken in once more.
        While a back-up is being put in place no other screen is opened: it would show what is going away.
        """
        if self._room.resting:
            return
        ring = None
        if word == "restart":
            ring = self.frame.keys.ring
            self._dress()
            word = self._word
            once = TAKEN_IN_ONCE.get(word, set())
            about = about or {key: said for key, said in self._about.items() if key not in once}
        self._word, self._about = word, about
        meant = screen(word)
        self._room.turn_to(activity_of(word, about))
        frame = self.frame
        frame.clear()
        # A file is looked for on behalf of another screen, whose place stays lit.
        errand = ERRANDS.get(about.get("want", "")) if word == "files" else None
        place = meant.place if errand is None else screen(errand.screen).place
        frame.show(meant.build(self._context(about)), place)
        if ring is not None:
            frame.keys.drawn_anew(ring)

    def trouble(self, error: CoachError) -> None:
        """Say on the page that is shown what could not be done, and offer to open it again."""
        if self._frame is None:
            return
        if self._frame.page is None:  # it went wrong while the page was made
            self._frame.show(Page(self._context({})), screen(self._word).place)
        if self._frame.page is not None:
            self._frame.page.trouble(NOT_DONE, error.message, lambda: self.go("restart"))

    def _context(self, about: dict[str, str]) -> ScreenContext:
        return ScreenContext(
            self.frame.look, self._services, self._room, self._later, self._jobs, self.go, about
        )

    def _dress(self) -> None:
        """Make the frame anew in the theme and text size of the settings, in the old one's place."""
        settings = self._services.current_settings()
        look = look_of(settings, self._services.clock.now().hour)
        old, self._frame = self._frame, Frame(look, self.go, places_for(teacher=settings.teacher))
        Window.clearcolor = rgba(look.theme.ground)
        if old is not None:
            old.clear()
            parent = old.parent
            parent.remove_widget(old)
            parent.add_widget(self._frame)
            self.root = self._frame

    def _refit(self, _passed_s: float) -> None:
        if fit_density(*Window.size):
            self.go("restart")

    def _key(self, window: object, key: int, scancode: int, text: str | None, modifiers: list[str]) -> bool:
        return self.frame.keys.down(window, key, scancode, text, modifiers)
