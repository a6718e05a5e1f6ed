"""The engraved sheet on the screen: pages of pixels as textures."""

from collections.abc import Sequence
from dataclasses import dataclass

from kivy.graphics import Color, Rectangle
from kivy.graphics.texture import Texture
from kivy.uix.widget import Widget

from coach.ui.theme import Look
from coach.ui.widgets.layout import Column


@dataclass(frozen=True, slots=True)
class PageImage:
    """One page: RGBA bytes, top row first, 4 bytes a pixel; ``ValueError`` if their count does not fit."""

    width: int
    height: int
    rgba: bytes

    def __post_init__(self) -> None:
        if len(self.rgba) != 4 * self.width * self.height:
            raise ValueError(f"{self.width}x{self.height} pixels need {4 * self.width * self.height} bytes")


class _PageView(Widget):
    def __init__(self, page: PageImage) -> None:
        super().__init__(size_hint_y=None)
        texture = Texture.create(size=(page.width, page.height), colorfmt="rgba")
        texture.blit_buffer(page.rgba, colorfmt="rgba", bufferfmt="ubyte")
        texture.flip_vertical()
        self._share = page.height / page.width
        with self.canvas:
            Color(1, 1, 1, 1)
            self._paper = Rectangle(texture=texture)
        self.bind(pos=self._lay, size=self._lay, width=self._grow)
        self._grow()

    def _grow(self, *_: object) -> None:
        self.height = self.width * self._share

    def _lay(self, *_: object) -> None:
        self._paper.pos, self._paper.size = self.pos, self.size


class SheetView(Column):
    """All pages one under the other, as wide as the column; paper stays white in both themes."""

    def __init__(self, look: Look, pages: Sequence[PageImage]) -> None:
        self.look = look
        super().__init__(*(_PageView(page) for page in pages), gap=1.5)
