"""The beat of a piece: bars with their click, ways to count, one bar from near with its beats."""

from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import Protocol

from kivy.uix.widget import Widget

from coach.ui.presenters.beat_control import FEWEST_TAPS, BeatControl
from coach.ui.presenters.beat_view import BARS_SHOWN, METERS, BeatMode, BeatView
from coach.ui.presenters.beat_work import BeatWork
from coach.ui.presenters.drawn import Loop
from coach.ui.theme import Look
from coach.ui.widgets.beat_bar import BeatBarView
from coach.ui.widgets.buttons import Choice, Press, Weight
from coach.ui.widgets.layout import Card, Column, Flow
from coach.ui.widgets.text import Words, quiet
from coach.ui.widgets.tiles import BarTiles, bars_passed

Y, Z, BACKSPACE, DELETE, INSERT = 121, 122, 8, 127, 277


class BeatHandler(Protocol):
    """Who does what the panel asks for."""

    def beat(self, change: Callable[[BeatControl], None]) -> None:
        """Do something about the beat, and show what came of it."""
        ...

    @property
    def position_s(self) -> float | None:
        """Where the recording sounds now, ``None`` while it is still."""
        ...

    def look_up(self) -> None:
        """Notice that the loudspeaker is gone."""
        ...


class BeatPanel(Column):
    """What a screen of the beat shows under its sentence."""

    def __init__(self, look: Look, view: BeatView, handler: BeatHandler) -> None:
        super().__init__(gap=2)
        self.look, self.handler = look, handler
        self.tiles: BarTiles | None = None
        self.bar: BeatBarView | None = None
        self.view = view
        self._buttons: dict[str, Press] = {}
        match view.mode:
            case BeatMode.HEAR:
                self._hear(view)
            case BeatMode.MOVE:
                self._move(view)
            case BeatMode.TAP:
                self._tap(view)

    def keeps(self, view: BeatView) -> bool:
        """Change in place where a finger may be at work on a bar; else the panel is made anew."""
        if view.mode is not BeatMode.MOVE or self.view.mode is not view.mode or self.bar is None:
            return False
        changed, self.view = view.tiles != self.view.tiles, view
        self.bar.show(view.close or self.bar.bar)
        self.words.said = view.words
        if changed:
            self._show_tiles(view)
        elif self.tiles is not None:
            self.tiles.show(_loop(view))
        self._states(view)
        return True

    def follow(self) -> None:
        """Look whether it still sounds, and show where."""
        self.handler.look_up()
        self.cursor(self.handler.position_s)

    def cursor(self, at_s: float | None) -> None:
        """Show where it sounds, in seconds of the recording."""
        if self.bar is not None:
            self.bar.cursor(at_s)
        if self.tiles is not None:
            self.tiles.cursor(bars_passed(self.view.tiles_s, at_s))

    # --- keys ---------------------------------------------------------------------------------------------

    def arrow(self, direction: str) -> bool:
        """Left and right go along the beats while they are moved."""
        return self.bar is not None and self.bar.arrow_by_key(direction)

    def key(self, code: int, text: str, modifiers: Sequence[str]) -> bool:
        """+ and - move the chosen beat, Insert adds one, Delete takes it away, 1 makes it ONE; undo, redo."""
        if {"ctrl", "meta"} & set(modifiers):
            if code not in {Z, Y}:
                return False
            self._work(BeatWork.redo if code == Y or "shift" in modifiers else BeatWork.undo)
            return True
        if self.bar is None:
            return False
        if text in {"+", "=", "-"}:
            self._work(lambda work: work.shift(-1 if text == "-" else 1))
        elif code == INSERT:
            self._work(BeatWork.add)
        elif code in {BACKSPACE, DELETE}:
            self._work(BeatWork.take_away)
        elif text == "1":
            self._work(BeatWork.one_here)
        else:
            return False
        return True

    # --- the three ways -----------------------------------------------------------------------------------

    def _hear(self, view: BeatView) -> None:
        look = self.look
        music = self._press("Stop" if view.playing else "Listen", lambda beat: beat.play_or_stop())
        later = self._press("ONE is a beat later", lambda beat: beat.change(lambda work: work.one_by(1)))
        near = self._press("Move single beats", lambda beat: beat.look_at(1))
        tap = self._press("Tap it myself", lambda beat: beat.tap_anew())
        skip = self._press(f"Begin {BARS_SHOWN} bars later", lambda beat: beat.begin_later(BARS_SHOWN))
        more = [*([skip] if view.goes_on else []), *([self._undo()] if view.can_undo else [])]
        self.add(Flow(music, later, near, tap, *more))
        self._put_tiles(view)
        count = Choice(look, view.readings, view.reading, self._reading)
        self.add(Card(look, quiet(look, "How fast to count, in beats a minute"), count, *self._bars(view)))

    def _reading(self, key: str) -> None:
        self._work(lambda work: work.read(Fraction(key)))

    def _bars(self, view: BeatView) -> list[Widget]:
        look, handler = self.look, self.handler
        meters = Choice(
            look, [(m, m) for m in METERS], view.meter, lambda m: handler.beat(lambda beat: beat.set_meter(m))
        )
        begins = [("no", "It begins on ONE"), ("yes", "It begins one beat before")]
        chosen = "yes" if view.upbeat else "no"
        upbeat = Choice(look, begins, chosen, lambda u: handler.beat(lambda beat: beat.set_upbeat(u)))
        return [quiet(look, "Beats in a bar, and where the tune begins"), meters, upbeat]

    def _tap(self, view: BeatView) -> None:
        more = ": stop, and go on" if view.taps >= FEWEST_TAPS else ""
        music = self._press("Stop" if view.playing else "Listen", lambda beat: beat.play_or_stop())
        again = self._press("Tap anew", lambda beat: beat.tap_anew())
        heard = self._press("Back to the beat I heard", BeatControl.hear_first)
        known = [heard] if view.heard else []
        self.add(Words(self.look, f"{view.taps} beats tapped{more}"), Flow(music, again, *known))
        self.add(Card(self.look, *self._bars(view)))

    def _move(self, view: BeatView) -> None:
        look = self.look
        if view.close is None:
            raise ValueError("beats are moved in a bar")
        self.bar = BeatBarView(look, view.close, lambda index: self._work(lambda work: work.choose(index)))
        self.words = quiet(look, view.words)
        self.add(Column(self.bar, self.words, gap=1))
        self._buttons = {
            "earlier": self._press_work("Earlier", lambda work: work.shift(-1)),
            "later": self._press_work("Later", lambda work: work.shift(1)),
            "add": self._press_work("Add a beat after it", BeatWork.add),
            "away": self._press_work("Take it away", BeatWork.take_away),
            "one": self._press_work("ONE is here", BeatWork.one_here),
            "undo": self._undo(),
            "redo": self._press_work("Redo", BeatWork.redo, Weight.QUIET),
        }
        self._buttons["music"] = self._press("Listen", lambda beat: beat.play_or_stop())
        self._buttons["slow"] = self._press("Half speed", lambda beat: beat.slower(), Weight.QUIET)
        before = self._press("Bar before", lambda beat: beat.turn(-1), Weight.QUIET)
        after = self._press("Bar after", lambda beat: beat.turn(1), Weight.QUIET)
        b = self._buttons
        self.add(Flow(b["earlier"], b["later"], b["add"], b["away"], b["one"], b["undo"], b["redo"]))
        self.add(Flow(b["music"], b["slow"], before, after))
        self._put_tiles(view)
        self._states(view)

    def _states(self, view: BeatView) -> None:
        b = self._buttons
        b["music"].said = "Stop" if view.playing else "Listen"
        b["slow"].chosen = view.slow
        b["undo"].disabled, b["redo"].disabled = not view.can_undo, not view.can_redo

    # --- parts --------------------------------------------------------------------------------------------

    def _put_tiles(self, view: BeatView) -> None:
        self.place = Column(gap=0)
        self.add(self.place)
        self._show_tiles(view)

    def _show_tiles(self, view: BeatView) -> None:
        self.place.clear_widgets()
        self.tiles = BarTiles(self.look, view.tiles, _loop(view), self._tapped)
        self.place.add(self.tiles)

    def _tapped(self, loop: Loop) -> None:
        number = self.view.tiles[loop.last].number
        bar = number if number > 0 else number + 1
        self.handler.beat(lambda beat: beat.look_at(bar))

    def _work(self, change: Callable[[BeatWork], None]) -> None:
        self.handler.beat(lambda beat: beat.change(change))

    def _press(
        self, words: str, change: Callable[[BeatControl], None], weight: Weight = Weight.PLAIN
    ) -> Press:
        return Press(self.look, words, lambda: self.handler.beat(change), weight=weight)

    def _press_work(
        self, words: str, change: Callable[[BeatWork], None], weight: Weight = Weight.PLAIN
    ) -> Press:
        return Press(self.look, words, lambda: self._work(change), weight=weight)

    def _undo(self) -> Press:
        return self._press_work("Undo", BeatWork.undo, Weight.QUIET)


def _loop(view: BeatView) -> Loop | None:
    return None if view.bar_index is None else Loop(view.bar_index, view.bar_index)
