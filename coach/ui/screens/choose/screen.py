"""Choosing a piece: four short screens, one decision each."""

from collections.abc import Callable

from kivy.core.window import Window
from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.choose import ChoosePresenter
from coach.ui.presenters.choose_view import METERS, ChooseView, Decision
from coach.ui.presenters.drawn import Loop
from coach.ui.widgets.buttons import Choice, Press
from coach.ui.widgets.layout import Card, Column, Flow
from coach.ui.widgets.page import Page
from coach.ui.widgets.text import Words, quiet, sentence, title
from coach.ui.widgets.tiles import BarTiles

MAY_USE = "Use recordings that you may use."


class ChoosePage(Page):
    """One decision at a time."""

    presenter: ChoosePresenter

    @override
    def draw(self, value: ChooseView) -> None:
        """The sentence and what the decision needs."""
        look = self.look
        head = Column(sentence(look, value.sentence), gap=1)
        if value.said:
            head.add(title(look, value.said))
        self.put(head)
        match value.decision:
            case Decision.RECORDING:
                self._recording(value)
            case Decision.LISTEN:
                self.put(Card(look, *(Words(look, fact) for fact in value.facts)))
            case Decision.BEAT:
                self._beat(value)
            case Decision.BARS:
                self._sections(value)
        self.action = value.action

    def _recording(self, value: ChooseView) -> None:
        look, presenter = self.look, self.presenter
        find = Press(look, "Look for a file", presenter.look_for_file)
        record = Press(look, "Record it through the microphone", presenter.record)
        own = "Music, or a teacher's pack. You can also drop the file here. " + MAY_USE
        self.put(Card(look, title(look, "A recording of yours"), quiet(look, own), Flow(find, record)))
        for aside in value.aside:
            take_up = Press(look, "Go on with it", self._taking_up(aside.piece))
            self.put(Card(look, title(look, aside.title), quiet(look, aside.words), Flow(take_up)))
        for offered in value.offered:
            beat = f"{offered.meter}, {offered.tempo_bpm:.0f} beats a minute"
            facts = f"Came with the app: {offered.bars} bars, {beat}"
            take = Press(look, "Take it", self._taking(offered.id))
            self.put(Card(look, title(look, offered.title), quiet(look, facts), Flow(take)))

    def _taking_up(self, piece: str) -> Callable[[], None]:
        return lambda: self.presenter.take_up(piece)

    def _taking(self, bundled_id: str) -> Callable[[], None]:
        return lambda: self.presenter.take(bundled_id)

    def _beat(self, value: ChooseView) -> None:
        look, presenter = self.look, self.presenter
        meters = Choice(look, [(meter, meter) for meter in METERS], value.meter, presenter.set_meter)
        upbeat = Choice(
            look,
            [("no", "It begins on ONE"), ("yes", "It begins one beat before")],
            "yes" if value.upbeat else "no",
            presenter.set_upbeat,
        )
        again = Press(look, "Tap anew", presenter.tap_again)
        music = Press(look, "Stop" if value.playing else "Listen", presenter.play_or_stop)
        if value.found is not None:
            self.put(Flow(Press(look, value.found, presenter.take_found_beat)))
        counted = Words(look, f"{value.taps} beats tapped" + (": stop, and go on" if value.taps >= 8 else ""))
        self.put(Card(look, quiet(look, "Beats in a bar"), meters, upbeat))
        self.put(Column(counted, Flow(music, again), gap=1.5))

    def _sections(self, value: ChooseView) -> None:
        look, presenter = self.look, self.presenter
        bars = [(str(n), f"{n} bars") for n in value.bars]
        self.tiles = BarTiles(look, value.tiles, Loop(0, value.chosen_bars - 1), presenter.mark)
        self.put(Choice(look, bars, str(value.chosen_bars), presenter.set_bars))
        self.put(Card(look, *(Words(look, words) for words in value.sections), self.tiles))

    @override
    def opened(self) -> None:
        super().opened()
        Window.bind(on_drop_file=self._dropped)

    @override
    def closed(self) -> None:
        Window.unbind(on_drop_file=self._dropped)
        super().closed()

    def _dropped(self, _window: object, name: bytes, *_: object) -> None:
        self.presenter.bring(name.decode("utf-8", "replace"))


def build(context: ScreenContext) -> Page:
    """Choosing, from the recording to the bars; ``file`` is one to be brought in at once."""
    presenter = ChoosePresenter(
        context.room, context.later, context.jobs, context.go, context.about.get("file")
    )
    return ChoosePage(context, presenter)
