"""The engraved sheet: one renderer for paper and screen."""

from dataclasses import dataclass, replace

from coach.notation.arrangement import Arrangement
from coach.sheet.engraver import svg_pages
from coach.sheet.fonts import SheetFonts
from coach.sheet.head import foot_items, title_items
from coach.sheet.marks import SheetMarks
from coach.sheet.paper import Paper
from coach.sheet.pdf import write_pdf
from coach.sheet.svg_read import read_svg


@dataclass(frozen=True, slots=True)
class EngravedSheet:
    """An engraved sheet.

    Parameters
    ----------
    pdf
        The whole document, fonts embedded; `coach.sheet.raster` makes pictures of its pages.
    page_count
        Pages in it.
    page_size
        Width and height of a page in points.
    """

    pdf: bytes
    page_count: int
    page_size: tuple[float, float]


def engrave(
    arrangement: Arrangement,
    marks: SheetMarks | None,
    fonts: SheetFonts,
    paper: Paper = Paper.A4,
    *,
    whole: bool = True,
) -> EngravedSheet:
    """Engrave an arrangement: staff and, where places are known, tablature, with fingers of both hands.

    Parameters
    ----------
    arrangement
        What is set.
    marks
        Places and fingers; without it the player's own places are shown, and no TAB staff if there are none.
    fonts
        Fonts of title, numbers and words.
    paper
        A4 or letter.
    whole
        Whether it is the whole piece; a single section gets no title, and none of the empty bars around it.
    """
    width, height = paper.size_points
    pages = [read_svg(svg, width) for svg in svg_pages(arrangement, marks, paper, whole=whole)]
    pages[0] = replace(
        pages[0], items=title_items(arrangement, marks, pages[0], titled=whole) + pages[0].items
    )
    pages = [
        replace(page, items=page.items + foot_items(number, len(pages), page, fingers=marks is not None))
        for number, page in enumerate(pages, 1)
    ]
    return EngravedSheet(write_pdf(pages, fonts, arrangement.title), len(pages), (width, height))
