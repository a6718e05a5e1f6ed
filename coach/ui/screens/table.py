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
5. *Row* below; set ``built=True``.
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
    """A screen: its folder's word, its title, the place it belongs to, what it is for, whether it stands."""

    word: str
    title: str
    place: str
    purpose: str
    built: bool = False

    @property
    def module(self) -> str:
        """Import path of the module with ``build``."""
        return f"coach.ui.screens.{self.word}.screen"

    def build(self, context: "ScreenContext") -> "Page":
        """Make the page."""
        return cast("Page", import_module(self.module).build(context))


SCREENS = (
    Screen("first_run", "Welcome", "today", "one sentence, then three notes of a tune", built=True),
    Screen(
        "today", "Today", "today", "where the piece stands, today's steps, and the way to begin", built=True
    ),
    Screen("setup", "Set-up", "setup", "short cards: room, tuning, hands, names, minutes a day", built=True),
    Screen("tuner", "Tuner", "setup", "the string meant, how far off, tighten or loosen", built=True),
    Screen("ear", "Ear", "ear", "the drills due, and what each is good for in this piece", built=True),
    Screen("drill", "One drill", "ear", "hear, answer, see how near it was", built=True),
    Screen("choose", "Choose a piece", "piece", "four short decisions, one a screen", built=True),
    Screen("files", "Find a file", "piece", "folders to go into, a file to take", built=True),
    Screen("record", "Record a piece", "piece", "a recording through the microphone", built=True),
    Screen("beat", "The beat", "piece", "beats put right one by one", built=True),
    Screen("fit", "A key for the guitar", "piece", "three to five keys with reasons", built=True),
    Screen("piece", "The piece", "piece", "the two-line map, large, with the next step", built=True),
    Screen("workbench", "Workbench", "piece", "find the tune or the bass of a section", built=True),
    Screen("together", "Together", "piece", "both lines on one neck", built=True),
    Screen("play", "Play", "piece", "play the sheet, and hear what came out right", built=True),
    Screen("finish", "Finish", "piece", "the take, the sheet, what was learned", built=True),
    Screen("log", "Log", "log", "days, minutes, skills, and every event", built=True),
    Screen("keep", "Keep it safe", "log", "back-ups: make one, put one in place", built=True),
    Screen("remind", "Practice days", "log", "weekdays, a time, a file for the calendar", built=True),
    Screen("teacher", "Teacher", "teacher", "packs, and learners' reports side by side", built=True),
)


def screen(word: str) -> Screen:
    """A screen by its word; ``ValueError`` if there is none."""
    for each in SCREENS:
        if each.word == word:
            return each
    raise ValueError(f"there is no screen “{word}”")
