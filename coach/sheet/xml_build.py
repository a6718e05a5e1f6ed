"""Small helpers for writing XML trees."""

import xml.etree.ElementTree as ET


def sub(parent: ET.Element, tag: str, text: str | None = None, **attributes: str) -> ET.Element:
    """A new last child; ``_`` in the names of attributes stands for ``-``."""
    child = ET.SubElement(parent, tag, {name.replace("_", "-"): value for name, value in attributes.items()})
    child.text = text
    return child


def plain_number(number: float) -> str:
    """A decimal without exponent, as short as it can be and read back equal: ``84``, ``92.25``."""
    return str(int(number)) if float(number).is_integer() else repr(float(number))
