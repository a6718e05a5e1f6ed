"""Choosing a piece: four short screens, one decision each."""

from collections.abc import Callable

from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.choose import ChoosePresenter
from coach.ui.presenters.choose_view import ChooseView, Decision
from coach.ui.presenters.drawn import Loop
from coach.ui.presenters.record import MAY_USE
from coach.ui.widgets.beat_panel import BeatPanel
from coach.ui.widgets.beats_page import BeatsPage
from coach.ui.widgets.buttons import Choice, Press, Weight
from coach.ui.widgets.layout import Card, Column, Flow
from coach.ui.widgets.page import Page
from coach.ui.widgets.text import Words, quiet, sentence, title
from coach.ui.widgets.tiles import BarTiles

NO_BEAT = "It has no steady beat"


class ChoosePage(BeatsPage):
    """One decision at a time."""

    presenter: ChoosePresenter

    @override
    def draw(self, value: ChooseView) -> None:
        """The sentence and what the decision needs."""
        look = self.look
        self.panel = None
        self.sentence, self.said = sentence(look, value.sentence), title(look, value.said)
        self.put(Column(self.sentence, self.said, gap=1))
        match value.decision:
            case Decision.RECORDING:
                self._recording(value)
            case Decision.LISTEN:
                self.put(Card(look, *(Words(look, fact) for fact in value.facts)))
            case Decision.BEAT if value.beat is not None:
                self.panel = BeatPanel(look, value.beat, self.presenter)
                free = Press(look, NO_BEAT, self.presenter.without_beats, weight=Weight.QUIET)
                self.put(self.panel, Flow(free))
            case Decision.BARS:
                self._sections(value)
            case _:
                pass
        self.action, self.second = value.action, value.second

    @override
    def act_second(self) -> None:
        self.presenter.second()

    @override
    def keeps(self, value: ChooseView) -> bool:
        """Beats are moved in place: the bar must not jump away under the finger."""
        if self.panel is None or value.beat is None or not self.panel.keeps(value.beat):
            return False
        self.sentence.said, self.said.said, self.action = value.sentence, value.said, value.action
        return True

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

    def _sections(self, value: ChooseView) -> None:
        look, presenter = self.look, self.presenter
        bars = [(str(n), f"{n} bars") for n in value.bars]
        self.tiles = BarTiles(look, value.tiles, Loop(0, value.chosen_bars - 1), presenter.mark)
        self.put(Choice(look, bars, str(value.chosen_bars), presenter.set_bars))
        self.put(Card(look, *(Words(look, words) for words in value.sections), self.tiles))

    @override
    def dropped(self, file: str) -> None:
        self.presenter.bring(file)


def build(context: ScreenContext) -> Page:
    """Choosing, from the recording to the bars; ``file`` is one to be brought in at once."""
    presenter = ChoosePresenter(
        context.room, context.later, context.jobs, context.go, context.about.get("file")
    )
    return ChoosePage(context, presenter)
