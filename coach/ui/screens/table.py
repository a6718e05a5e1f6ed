"""The one table of all screens; each lives in a folder of its own, imported only when it is shown.

How to add a screen
-------------------
1. *Presenter* (no Kivy): ``coach/ui/presenters/<word>.py`` with a frozen view value and a class
   ``<Name>Presenter(Presenter[<Name>View])``. It takes what it needs of ``Services`` and a ``later:
   UiCalls``; its ``_show`` publishes one of the five states of `coach.ui.presenters.view` (``Empty``,
   ``Working``, ``Ready``, ``Missing``, ``Failed``) and may be called from any thread. Long work goes
   through a `JobRunner`. Every word that is shown is made here, so that it can be tested without a window.
2. *Screen*: ``coach/ui/screens/<word>/screen.py`` with a subclass of `coach.ui.widgets.page.Page` and a
   function ``build(context: ScreenContext) -> Page``. Override ``draw(value)``: add widgets with
   ``self.put(...)``, set ``self.action`` (the one big action), ``self.second`` (the quieter one beside it)
   and ``self.source`` (who listens: the frame then shows the level bar). The four other states are drawn by
   `Page` itself. Override ``act``, ``act_second``, ``arrow`` where the presenter's ``act`` is not enough,
   and ``keeps(value)`` to change widgets in place (return true) instead of drawing anew, which anything
   that moves must do.
3. *Widgets* come from ``coach.ui.widgets`` and take the `Look` first: ``Words sentence title quiet
   note_name`` (text), ``Column Row Flow Card space stretch`` (layout), ``Press Choice`` (buttons),
   ``TwoLineMap`` (line_map), ``BarTiles`` (tiles), ``LineStrip`` (strip), ``FretboardView`` (neck),
   ``PitchThread`` (thread), ``SheetView`` (sheet), ``BarChart DayMarks SkillGrid`` (charts), ``Field``
   (field). A drawing that should fill what is left gets ``size_hint_y=1`` and a ``size_hint_min_y``: pages
   scroll as soon as the window is too low. Do not name a widget's class like one of Kivy's own
   (``ProgressBar``): Kivy styles by name.
4. *Go* to another screen with ``context.go("word", section="A")``; it reads ``context.about["section"]``.
5. *Row* below.
6. *Tests*: ``tests/ui/test_<word>.py`` with the ``window`` fixture: ``window.show(page)``, real taps, each
   of the five states; add the five views to ``tests/ui/five_states.py`` so that the walk over all screens,
   sizes and themes finds what is clipped. Look at the pictures: ``python -m tests.ui.look <word>``
   (``--all``, ``--state failed``, ``--size 800x480``, ``--scale 1.5``, ``--light``) writes them to
   ``out/``.
"""

from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, cast

if TYPE_CHECKING:
    from coach.ui.context import ScreenContext
    from coach.ui.widgets.page import Page


@dataclass(frozen=True, slots=True)
class Place:
    """A place of the rail: the word of the screen it opens, and its title."""

    word: str
    title: str


PLACES = (
    Place("today", "Today"),
    Place("ear", "Ear"),
    Place("piece", "Piece"),
    Place("log", "Log"),
    Place("setup", "Set-up"),
)
"""Four places, and set-up at the foot."""
TEACHER = Place("teacher", "Teacher")
"""The place above set-up, for those who teach."""


def places_for(*, teacher: bool) -> tuple[Place, ...]:
    """The places of the rail; the teacher's only when it is switched on."""
    return (*PLACES[:-1], TEACHER, PLACES[-1]) if teacher else PLACES


@dataclass(frozen=True, slots=True)
class Screen:
    """A screen: its folder's word, and the word of the place of the rail it belongs to."""

    word: str
    place: str

    @property
    def module(self) -> str:
        """Import path of the module with ``build``."""
        return f"coach.ui.screens.{self.word}.screen"

    def build(self, context: "ScreenContext") -> "Page":
        """Make the page."""
        return cast("Page", import_module(self.module).build(context))


SCREENS = (
    Screen("first_run", "today"),
    Screen("today", "today"),
    Screen("setup", "setup"),
    Screen("tuner", "setup"),
    Screen("ear", "ear"),
    Screen("drill", "ear"),
    Screen("choose", "piece"),
    Screen("files", "piece"),
    Screen("record", "piece"),
    Screen("beat", "piece"),
    Screen("fit", "piece"),
    Screen("piece", "piece"),
    Screen("workbench", "piece"),
    Screen("together", "piece"),
    Screen("play", "piece"),
    Screen("finish", "piece"),
    Screen("log", "log"),
    Screen("keep", "log"),
    Screen("remind", "log"),
    Screen("teacher", "teacher"),
)
"""The first line of each screen's module says what it is for."""


def screen(word: str) -> Screen:
    """A screen by its word; ``ValueError`` if there is none."""
    for each in SCREENS:
        if each.word == word:
            return each
    raise ValueError(f"there is no screen “{word}”")
