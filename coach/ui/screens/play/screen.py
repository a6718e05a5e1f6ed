"""Play: the sheet, still, with click and count-in; or the one whole take."""

from kivy.clock import Clock
from kivy.metrics import dp
from kivy.uix.widget import Widget
from typing_extensions import override

from coach.ui.context import ScreenContext
from coach.ui.presenters.play import PlayPresenter
from coach.ui.presenters.play_view import PART_WORDS, WAY_WORDS, WHOLE_WORDS, PlayView, Way
from coach.ui.theme import SPACE_DP
from coach.ui.widgets.buttons import Choice
from coach.ui.widgets.layout import Card, Column
from coach.ui.widgets.page import Page
from coach.ui.widgets.played import PlayedBars
from coach.ui.widgets.sheet import PageImage, SheetView
from coach.ui.widgets.text import quiet, sentence, title

LOOK_UP_S = 0.5


class PlayPage(Page):
    """The sheet and the click."""

    presenter: PlayPresenter

    def __init__(self, context: ScreenContext, presenter: PlayPresenter) -> None:
        self.sheet: SheetView | None = None
        self.drawn: PlayView | None = None
        super().__init__(context, presenter)
        self._clock = Clock.schedule_interval(lambda _: presenter.look_up(), LOOK_UP_S)

    @override
    def draw(self, value: PlayView) -> None:
        """Sentence, what was heard, parts, tempo, sheet."""
        look = self.look
        self.sentence, self.said = sentence(look, value.sentence), title(look, value.said)
        self.put(Column(quiet(look, value.title), self.sentence, self.said, gap=0.75))
        self.tools = Column(*self._tools(value), gap=2.5)
        self.shelf = Column(self.tools)
        pages = [PageImage(page.width, page.height, page.rgba) for page in value.pages]
        self.sheet = SheetView(look, pages)
        self.put(self.shelf, self.sheet)
        self.drawn = value
        self._follow(value)

    def _tools(self, value: PlayView) -> list[Widget]:
        """What was heard, and how to play it."""
        look, presenter = self.look, self.presenter
        tools: list[Widget] = [PlayedBars(look, value.heard, value.bars)] if value.heard else []
        worded = WHOLE_WORDS if value.whole else WAY_WORDS
        ways = [(way.value, words) for way, words in worded.items()]
        how = Card(look, Choice(look, ways, value.way.value, presenter.set_way))
        if not value.whole or value.way is Way.ALONG:
            parts = [(part.value, words) for part, words in PART_WORDS.items()]
            tempi = [(str(tempo), str(tempo)) for tempo in value.tempi]
            how.add(
                Choice(look, parts, value.part.value, presenter.set_part),
                quiet(look, "Beats a minute"),
                Choice(look, tempi, str(value.tempo), presenter.set_tempo),
            )
        return [*tools, how]

    @override
    def keeps(self, value: PlayView) -> bool:
        """The sheet stays as it is while words and buttons change; what was heard is drawn anew."""
        before = self.drawn
        if before is None or self.sheet is None or self.sheet.parent is None:
            return False
        if (before.heard, before.bars, before.tempo) != (value.heard, value.bars, value.tempo):
            return False
        if before.part is not value.part or (value.whole and before.way is not value.way):
            return False
        self._follow(value)
        return True

    def _follow(self, value: PlayView) -> None:
        """The words of now; while it is played nothing stands between the sentence and the sheet."""
        self.sentence.said, self.said.said = value.sentence, value.said
        shown = self.tools.parent is not None
        if shown == value.sounds:
            if value.sounds:
                self.shelf.clear_widgets()
            else:
                self.shelf.add_widget(self.tools)
            self.scroll.scroll_y = 1
        # Also where it was drawn anew, as after a take that was listened to.
        self.edge_dp = SPACE_DP if value.sounds else Page.edge_dp
        self.body.spacing = dp(SPACE_DP if value.sounds else 2.5 * SPACE_DP)
        self.action, self.second = value.action, "" if value.sounds else value.second
        self.source = self.presenter.levels if value.recording else None

    @override
    def act_second(self) -> None:
        self.presenter.act_second()

    @override
    def closed(self) -> None:
        self._clock.cancel()
        super().closed()


def build(context: ScreenContext) -> Page:
    """The section that ``about`` names, else the whole piece."""
    section = context.about.get("section")
    presenter = PlayPresenter(context.room, section, context.later, context.jobs, context.go)
    return PlayPage(context, presenter)
