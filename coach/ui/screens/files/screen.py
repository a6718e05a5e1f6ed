"""Finding a file: places, folders, files; a tap goes in or takes it."""

from collections.abc import Callable

from kivy.graphics import InstructionGroup, RoundedRectangle
from kivy.metrics import dp
from kivy.uix.widget import Widget
from typing_extensions import override

from coach.notation.line import LineKind
from coach.ui.context import ScreenContext
from coach.ui.drawing import note_shape, paint
from coach.ui.presenters.files import FileRow, FilesPresenter, FilesView
from coach.ui.theme import Look
from coach.ui.widgets.buttons import Choice, Press
from coach.ui.widgets.field import Field
from coach.ui.widgets.layout import Column, Flow
from coach.ui.widgets.page import Page
from coach.ui.widgets.rows import PressRow
from coach.ui.widgets.text import Words, sentence, title

RISE = "… the folder around this one"


class _Sign(Widget):
    """A folder with its tab, or a note for a file."""

    def __init__(self, look: Look, *, is_folder: bool) -> None:
        super().__init__(size_hint_x=None, width=dp(32))
        self.look, self.is_folder = look, is_folder
        self._drawn = InstructionGroup()
        self.canvas.add(self._drawn)
        self.bind(pos=self._draw, size=self._draw)

    def _draw(self, *_: object) -> None:
        group, theme, (x, y) = self._drawn, self.look.theme, self.center
        group.clear()
        if not self.is_folder:
            note_shape(group, LineKind.MELODY, (x, y), dp(9), colour=theme.melody)
            return
        group.add(paint(theme.quiet))
        for left, low, wide, high in ((-13, -10, 26, 17), (-13, 4, 12, 7)):
            group.add(
                RoundedRectangle(pos=(x + dp(left), y + dp(low)), size=(dp(wide), dp(high)), radius=[dp(3)])
            )


class FilesPage(Page):
    """One folder at a time."""

    presenter: FilesPresenter

    @override
    def draw(self, value: FilesView) -> None:
        look, presenter = self.look, self.presenter
        self.scroll.scroll_y = 1
        self.put(sentence(look, value.sentence))
        self.put(Choice(look, value.places, value.place, presenter.open))
        if value.place is None:
            self.put(title(look, value.where))
        if value.said:
            self.put(Words(look, value.said))
        rows = [self._row(row) for row in value.rows]
        if value.can_rise:
            rise = PressRow(look, RISE, presenter.rise, sign=_Sign(look, is_folder=True))
            rows.insert(0, rise)
        self.put(Column(*rows, gap=1))
        if value.more:
            self.put(Flow(Press(look, f"Show more ({value.more})", presenter.show_more)))
        self.put(Field(look, "Or type where it is, or drop it here", ended=presenter.bring))
        self.action, self.second = value.action, "Back"

    @override
    def act_second(self) -> None:
        self.presenter.back()

    def _row(self, row: FileRow) -> PressRow:
        sign = _Sign(self.look, is_folder=row.is_folder)
        return PressRow(self.look, row.name, self._opening(row.path), sign=sign, end=row.detail)

    def _opening(self, path: str) -> Callable[[], None]:
        return lambda: self.presenter.open(path)

    @override
    def dropped(self, file: str) -> None:
        self.presenter.bring(file)


def build(context: ScreenContext) -> Page:
    """``want`` tells the errand (see `ERRANDS`), ``folder`` where to begin; ``pack`` is handed back."""
    about = context.about
    extra = {key: about[key] for key in ("pack",) if key in about}
    presenter = FilesPresenter(
        context.services.shelf(),
        context.later,
        context.jobs,
        context.go,
        about["want"],
        about.get("folder"),
        extra,
    )
    return FilesPage(context, presenter)
