"""Several of several, all in sight; what is chosen is ringed and underlined."""

from collections.abc import Callable, Collection, Sequence

from coach.ui.theme import Look
from coach.ui.widgets.buttons import Press
from coach.ui.widgets.layout import Flow


class Toggles(Flow):
    """Small buttons of which any number may be on.

    Parameters
    ----------
    options
        Pairs of what is handed to ``toggle`` and the words for it.
    """

    def __init__(
        self,
        look: Look,
        options: Sequence[tuple[str, str]],
        chosen: Collection[str],
        toggle: Callable[[str], None],
    ) -> None:
        super().__init__()
        self.buttons: dict[str, Press] = {}
        for key, words in options:
            button = Press(look, words, self._pressing(key, toggle))
            self.buttons[key] = button
            self.add_widget(button)
        self.choose(chosen)

    def choose(self, chosen: Collection[str]) -> None:
        """Show these as the chosen ones."""
        for key, button in self.buttons.items():
            button.chosen = key in chosen

    @staticmethod
    def _pressing(key: str, toggle: Callable[[str], None]) -> Callable[[], None]:
        return lambda: toggle(key)
