"""The workbench: three small steps lead it; the strip and the neck stay, the rest is folded away."""

from collections.abc import Sequence
from functools import partial

from kivy.clock import Clock
from kivy.metrics import dp
from typing_extensions import override

from coach.music.naming import Naming
from coach.notation import LineKind
from coach.ui.context import ScreenContext
from coach.ui.presenters.note_work import NoteWork
from coach.ui.presenters.view import PageView, Ready
from coach.ui.presenters.workbench import WorkbenchPresenter
from coach.ui.presenters.workbench_view import TRAIL, TRAIL_PLACE, Step, WorkbenchView
from coach.ui.screens.workbench.groups import (
    Control,
    fold_content,
    fold_identity,
    folds_of,
    step_controls,
)
from coach.ui.theme import SPACE_DP, TARGET_DP
from coach.ui.widgets.buttons import Press, Weight
from coach.ui.widgets.layout import Column, Flow, Row, space
from coach.ui.widgets.neck import FretboardView
from coach.ui.widgets.page import Page
from coach.ui.widgets.piano_keys import PianoKeys
from coach.ui.widgets.strip import LineStrip
from coach.ui.widgets.text import quiet, sentence, title
from coach.ui.widgets.thread import PitchThread
from coach.ui.widgets.tiles import BarTiles, bars_passed
from coach.ui.widgets.trail import Trail

CURSOR_S = 1 / 30
"""How often the moving line moves."""
WORDS_EVERY = 5
"""The words of how near a note is change with every fifth move of the line: they have to be read."""
BRING = 3
"""An opened fold is brought into sight in so many moves: its heights are known one after the other."""
THREAD_DP = 100
BESIDE_DP, LOW_DP = 900, 520
"""From this width on the thread stands beside the words; in less height the neck precedes the controls."""
Z, Y, BACKSPACE, DELETE = 122, 121, 8, 127
PLUS, MINUS, KEYPAD = frozenset("+="), frozenset("-"), (270, 269)
"""The plus of many keyboards is typed with shift on the key of “=”."""


class WorkbenchPage(Page):
    """One line of one section."""

    presenter: WorkbenchPresenter
    edge_dp = SPACE_DP

    def __init__(self, context: ScreenContext, presenter: WorkbenchPresenter) -> None:
        self.strip: LineStrip | None = None
        self.neck: FretboardView | None = None
        self.thread: PitchThread | None = None
        self.fold: str | None = None
        self._value: WorkbenchView | None = None
        self._moves = self._bring = 0
        self._arranged: tuple[bool, bool, bool] | None = None
        self._made: dict[tuple[object, ...], Press] = {}
        self._shown_folds: object = None
        self._shown_fold: tuple[object, ...] = ()
        super().__init__(context, presenter)
        self.scroll.bind(size=self._arrange)
        self._clock = Clock.schedule_interval(self._follow, CURSOR_S)

    # --- drawing ------------------------------------------------------------------------------------------

    @override
    def draw(self, value: WorkbenchView) -> None:
        """What to do, the strip, the step's own controls, the neck, what is folded away, the loop."""
        look = self.look
        self.trail = Trail(look, value.title, TRAIL, TRAIL_PLACE[value.step])
        self.sentence, self.said = sentence(look, value.sentence), title(look, value.said, keeps_line=True)
        self.head = Column(self.trail, self.sentence, self.said, gap=0.5, pos_hint={"top": 1})
        self.near, self.listening = quiet(look), Column(gap=0.5, pos_hint={"top": 1})
        self.strip = LineStrip(look, value.strip, self.presenter.choose)
        self.buttons = Flow()
        self.neck = FretboardView(look, value.neck, self.presenter.tap)
        self.fold_row, self.opened_fold = Flow(), Column(gap=1)
        self.folds = Column(self.fold_row, self.opened_fold, gap=1.5)
        self.tiles = BarTiles(
            look, value.tiles, value.loop, lambda loop: self.presenter.change_sound(loop=loop)
        )
        self.thread = self._thread() if value.listens else None
        self.source = self.presenter.levels if value.listens else None
        self._made = {}
        self._shown_folds = self._arranged = None
        self._shown_fold = ()
        self._follow_view(value)

    def _arrange(self, *_: object) -> None:
        """Put everything where this window has room for it; nothing is made anew."""
        if self._value is None or self.strip is None or self.neck is None:
            return
        heard = bool(self.listening.children)
        beside = heard and self.scroll.width >= dp(BESIDE_DP)
        low = self.scroll.height < dp(LOW_DP)
        if (heard, beside, low) == self._arranged:
            return
        self._arranged = (heard, beside, low)
        self.strip.limit(1 if low else None)
        self.trail.shorten(short=low)
        self.body.spacing = dp(SPACE_DP * (1 if low else 2.5))
        for each in (self.head, self.listening, self.strip, self.buttons, self.neck, self.folds, self.tiles):
            if each.parent is not None:
                each.parent.remove_widget(each)
        self.body.clear_widgets()
        if beside:
            self.head.size_hint_x, self.listening.size_hint_x = 1.3, 1.0
            self.put(Row(self.head, self.listening, gap=3), self.strip)
        else:
            self.head.size_hint_x = self.listening.size_hint_x = 1.0
            self.put(self.head, self.strip)
        own = [self.buttons, self.listening] if heard and not beside else [self.buttons]
        # In a low window the neck comes right below the strip: both are what the hand needs.
        self.put(*([self.neck, *own] if low else [*own, self.neck]), self.folds, self.tiles)

    @override
    def keeps(self, value: WorkbenchView) -> bool:
        """Change in place: a neck that is tapped must not jump away under the finger."""
        if self._value is None or self.strip is None or self.neck is None:
            return False
        if value.listens != (self.thread is not None):
            return False
        self.strip.show(value.strip)
        self.neck.show(value.neck)
        self._follow_view(value)
        return True

    @override
    def show(self, view: PageView[WorkbenchView]) -> None:
        if not isinstance(view, Ready):
            self.source, self._value = None, None
            self._arranged = None
        super().show(view)

    def _follow_view(self, value: WorkbenchView) -> None:
        """Everything that changes while the line is worked on; what stays the same is not made anew."""
        self._value = value
        if self.strip is not None:
            self.strip.grid = value.grid
        self.sentence.said, self.said.said = value.sentence, value.said
        self.trail.show(TRAIL_PLACE[value.step])
        self._show_buttons(step_controls(value, self.presenter))
        self._show_thread(shown=value.phrase or value.step in {Step.HEAR, Step.FIND})
        self._show_folds(value)
        self._arrange()
        self.action, self.second = value.action, value.second

    def _show_buttons(self, controls: Sequence[Control]) -> None:
        """Those of the step of now; a button that stays is the same one."""
        wanted = [each.identity for each in controls]
        if wanted == list(self._made) and self.buttons.children:
            return
        before, self._made = self._made, {}
        self.buttons.clear_widgets()
        for each in controls:
            button = before.get(each.identity) or Press(self.look, each.words, each.do, weight=each.weight)
            self._made[each.identity] = button
            self.buttons.add_widget(button)
        if not controls:
            self.buttons.add_widget(space(TARGET_DP))  # the neck below must not jump when one comes

    def _thread(self) -> PitchThread:
        thread = PitchThread(self.look, self.presenter.ear, a4_hz=self.presenter.a4_hz)
        thread.size_hint_y, thread.height = None, dp(THREAD_DP)
        return thread

    def _show_thread(self, *, shown: bool) -> None:
        if self.thread is None or shown == bool(self.listening.children):
            return
        self.listening.clear_widgets()
        if shown:
            self.listening.add(self.near, self.thread)

    def _show_folds(self, value: WorkbenchView) -> None:
        folds = folds_of(value)
        if self.fold not in folds:
            self.fold = None
        if (self.fold, folds) != self._shown_folds:
            self._shown_folds = (self.fold, folds)
            self.fold_row.clear_widgets()
            for words in folds:
                button = Press(self.look, words, partial(self.turn_fold, words), weight=Weight.QUIET)
                button.chosen = words == self.fold
                self.fold_row.add_widget(button)
        for each in self.opened_fold.children:
            if isinstance(each, PianoKeys):
                each.show(value.keys)
        wanted = fold_identity(self.fold, value)
        if wanted != self._shown_fold:
            self._shown_fold = wanted
            self.opened_fold.clear_widgets()
            if self.fold is not None:
                self.opened_fold.add(*fold_content(self.look, self.fold, value, self.presenter))

    def turn_fold(self, words: str) -> None:
        """Open a fold, or close it; only one is open."""
        self.fold = None if self.fold == words else words
        if self._value is not None:
            self._show_folds(self._value)
        self._bring = BRING if self.fold is not None else 0

    def _follow(self, _passed_s: float) -> None:
        if self.strip is None or self.strip.parent is None:
            return
        self.presenter.look_up()
        position = self.presenter.position
        self.strip.cursor(position)
        self.tiles.cursor(bars_passed(self.strip.view.bars, position))
        self._moves += 1
        if self._bring:
            self._bring -= 1
            self.scroll.scroll_to(self.folds, animate=False)
        if self.listening.children and self._moves % WORDS_EVERY == 0:
            self.near.said = self.presenter.nearness()

    # --- hands and keys -----------------------------------------------------------------------------------

    @override
    def act_second(self) -> None:
        self.presenter.settle()

    @override
    def arrow(self, direction: str) -> bool:
        """Left and right go along the strip; up and down take the note a fret higher or lower for it."""
        value = self._value
        if direction in {"left", "right"}:
            by = -1 if direction == "left" else 1
            self.presenter.work(lambda note: note.step(by))
            return True
        if value is None or not value.has_note or value.settled:
            return False
        fret = 1 if direction == "up" else -1
        self.presenter.work(lambda note: note.shift(fret))
        return True

    @override
    def key(self, code: int, text: str, modifiers: Sequence[str]) -> bool:
        """Letters name notes, + and - move octaves, Delete takes out, Ctrl+Z and Ctrl+Y undo and redo."""
        value, work = self._value, self.presenter.work
        if value is None or value.settled or value.phrase:
            return False
        if {"ctrl", "meta"} & set(modifiers):
            return self._back_or_forth(code, shifted="shift" in modifiers)
        if "alt" in modifiers:
            return False
        letters = "ABCDEFGH" if self.look.naming is Naming.GERMAN else "ABCDEFG"
        if code in {BACKSPACE, DELETE}:
            work(NoteWork.remove)
        elif text in PLUS | MINUS or code in KEYPAD:
            up = text in PLUS or code == KEYPAD[0]
            work(lambda note: note.octave(1 if up else -1))
        elif len(text) == 1 and text.upper() in letters:
            self.presenter.letter(text.upper())
        else:
            return False
        return True

    def _back_or_forth(self, code: int, *, shifted: bool) -> bool:
        if code not in {Z, Y}:
            return False
        self.presenter.work(NoteWork.redo if code == Y or shifted else NoteWork.undo)
        return True

    @override
    def closed(self) -> None:
        self._clock.cancel()
        super().closed()


def build(context: ScreenContext) -> Page:
    """The workbench of the section and line that ``about`` names."""
    section = context.about.get("section", "A")
    kind = LineKind(context.about.get("line", LineKind.MELODY.value))
    presenter = WorkbenchPresenter(context.room, section, kind, context.later, context.jobs, context.go)
    return WorkbenchPage(context, presenter)
