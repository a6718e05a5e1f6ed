"""The engraver (verovio): from MusicXML to one SVG a page."""

import xml.etree.ElementTree as ET
from importlib.resources import files

import verovio

from coach.errors import MissingPartError
from coach.notation.arrangement import Arrangement
from coach.sheet.marks import SheetMarks
from coach.sheet.musicxml_out import score_tree
from coach.sheet.paper import Paper

MARGIN_MM = 13.0
"""White at every edge of the page."""
_TENTHS = 10
"""The engraver's page unit is a tenth of a millimetre at its scale of 100."""
_UNIT = 9
"""Half a staff space in tenths of a millimetre: a staff 7.2 mm high, that of printed guitar books."""
_OPTIONS = {
    "scale": 100,
    "unit": _UNIT,
    "breaks": "auto",
    "adjustPageHeight": False,
    "svgViewBox": True,
    "header": "auto",
    "footer": "none",
    "font": "Leland",
    "xmlIdChecksum": True,
    "spacingLinear": 0.32,
    "spacingSystem": 7,
    "spacingStaff": 12,
    "minLastJustification": 0.5,
    "bottomMarginHeader": 12.0,
    "mnumInterval": 0,
}


def svg_pages(
    arrangement: Arrangement, marks: SheetMarks | None, paper: Paper, *, whole: bool = True
) -> tuple[str, ...]:
    """Every page as SVG; at the head of the first one room is left for title and directions.

    Without ``whole`` the empty bars at both ends are left out.
    """
    verovio.enableLog(verovio.LOG_ERROR)
    # The path to its fonts is kept a thread: what was set on import holds for the importing one only.
    verovio.setDefaultResourcePath(str(files("verovio") / "data"))
    toolkit = verovio.toolkit()
    width, height = (round(_TENTHS * side) for side in paper.size_mm)
    margin = round(_TENTHS * MARGIN_MM)
    sides = {f"pageMargin{side}": margin for side in ("Top", "Bottom", "Left", "Right")}
    toolkit.setOptions(_OPTIONS | sides | {"pageWidth": width, "pageHeight": height})
    text = ET.tostring(score_tree(arrangement, marks, for_print=True, whole=whole), encoding="unicode")
    if not toolkit.loadData(text):
        raise MissingPartError(
            "The engraver could not set this piece: install the app again, or use MusicXML."
        )
    return tuple(toolkit.renderToSVG(page + 1) for page in range(toolkit.getPageCount()))
