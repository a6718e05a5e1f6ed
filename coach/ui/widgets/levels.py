"""The level bar: what the microphone hears now, with the room's noise marked."""

from kivy.clock import Clock
from kivy.graphics import InstructionGroup, Line, RoundedRectangle
from kivy.metrics import dp
from kivy.properties import ObjectProperty
from kivy.uix.widget import Widget

from coach.ui.drawing import paint
from coach.ui.presenters.levels import HeardLevel, LevelSource, bar_share
from coach.ui.theme import MARK_SP, SPACE_DP, Look
from coach.ui.widgets.layout import Column
from coach.ui.widgets.text import Words

TELLS_A_SECOND = 10
"""Words change at most so often: reading needs rest, and a label costs a texture."""


class _Bar(Widget):
    def __init__(self, look: Look) -> None:
        super().__init__(size_hint_y=None, height=dp(18))
        self.heard: HeardLevel | None = None
        theme = look.theme
        self._track, self._fill = (RoundedRectangle(radius=[dp(5)], segments=6) for _ in range(2))
        self._floor = Line(points=[], width=dp(1.2), cap="square")
        group = InstructionGroup()
        for instruction in (paint(theme.raised), self._track, paint(theme.voice), self._fill):
            group.add(instruction)
        group.add(paint(theme.outline))
        group.add(self._floor)
        self.canvas.add(group)
        self.bind(pos=self.lay, size=self.lay)

    def lay(self, *_: object) -> None:
        """Move the instructions; none is made anew."""
        middle, thick = self.center_y, dp(10)
        self._track.pos, self._track.size = (self.x, middle - thick / 2), (self.width, thick)
        share = bar_share(self.heard.level_db) if self.heard else 0.0
        self._fill.pos, self._fill.size = self._track.pos, (self.width * share, thick)
        if self.heard is None or self.heard.floor_db is None:
            self._floor.points = []
        else:
            x = self.x + self.width * bar_share(self.heard.floor_db)
            self._floor.points = [x, self.y, x, self.top]


class LevelBar(Column):
    """Shows a `LevelSource` once a frame; the mark on it is the noise of the room.

    Parameters
    ----------
    source
        Who listens; may be changed, ``None`` shows an empty bar.
    """

    source = ObjectProperty(None, allownone=True)

    def __init__(self, look: Look, source: LevelSource | None = None) -> None:
        self._bar, self._word = _Bar(look), Words(look, size_sp=MARK_SP, colour=look.theme.quiet)
        super().__init__(self._bar, self._word, gap=0.5, padding=[0, dp(SPACE_DP)])
        self.source = source
        self._since_word_s = 1.0
        self._clock = Clock.schedule_interval(self.look_up, 0)

    def look_up(self, passed_s: float) -> None:
        """Take the level of now."""
        heard = self.source.level() if self.source is not None else None
        self._bar.heard = heard
        self._bar.lay()
        self._since_word_s += passed_s
        if self._since_word_s >= 1 / TELLS_A_SECOND:
            self._since_word_s = 0.0
            self._word.said = heard.word if heard is not None else "The microphone is not listening."

    def stop(self) -> None:
        """Look no more."""
        self._clock.cancel()
