"""The small steps of a screen in words, the one of now lit: read, not pressed."""

from collections.abc import Sequence

from kivy.uix.label import Label

from coach.ui.drawing import marked_up, rgba, type_px
from coach.ui.theme import MARK_SP, Look
from coach.ui.widgets.layout import Flow


class Trail(Flow):
    """What it is about, then the steps with their numbers, in the lines that they need.

    Parameters
    ----------
    about
        Read first, quietly.
    here
        Index of the step of now, ``None`` when all are done.
    """

    def __init__(self, look: Look, about: str, steps: Sequence[str], here: int | None) -> None:
        super().__init__(gap=2.5)
        self.look, self.steps = look, tuple(steps)
        self._px = type_px(look, MARK_SP)
        self.about = self._write(about, lit=False)
        self.labels = [self._write(f"{at}  {words}", lit=False) for at, words in enumerate(steps, 1)]
        self._short, self._here = False, here
        self.show(here)

    def show(self, here: int | None) -> None:
        """Light another step."""
        self._here = here
        for index, label in enumerate(self.labels):
            self._light(label, lit=index == here)
        if self._short:
            self._lay()

    def shorten(self, *, short: bool) -> None:
        """Show no step but the one of now, where every line counts; or all of them again."""
        if short != self._short:
            self._short = short
            self._lay()

    def _lay(self) -> None:
        shown = [label for index, label in enumerate(self.labels) if not self._short or index == self._here]
        if self.children[::-1] != [self.about, *shown]:
            self.clear_widgets()
            for label in (self.about, *shown):
                self.add_widget(label)

    def _write(self, words: str, *, lit: bool) -> Label:
        label = Label(text=marked_up(words), markup=True, font_size=self._px, size_hint=(None, None))
        label.bind(texture_size=label.setter("size"))
        self._light(label, lit=lit)
        self.add_widget(label)
        return label

    def _light(self, label: Label, *, lit: bool) -> None:
        theme = self.look.theme
        label.bold, label.color = lit, rgba(theme.text if lit else theme.quiet)
