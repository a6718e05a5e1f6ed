"""Reading XML that comes from elsewhere: no entities, no outside files, limited depth."""

import xml.etree.ElementTree as ET
from typing import Never
from xml.parsers import expat

from coach.errors import UnreadableFileError

MAX_DEPTH = 64
"""MusicXML needs about ten levels."""


class _RefusedError(Exception):
    """Raised inside the parser where the document asks for something that is never needed."""


def parse_xml(data: bytes, name: str) -> ET.Element:
    """The root of an XML document.

    Expat never opens an outside file by itself; entity declarations are refused where they stand, before
    anything could be expanded.

    Raises
    ------
    UnreadableFileError
        Where the document is broken, declares an entity or is nested too deeply.
    """
    builder = ET.TreeBuilder()
    parser = expat.ParserCreate()
    depth = 0

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        if depth > MAX_DEPTH:
            raise _RefusedError(f"it is nested more than {MAX_DEPTH} levels deep")
        builder.start(tag, attributes)

    def end(tag: str) -> None:
        nonlocal depth
        depth -= 1
        builder.end(tag)

    parser.buffer_text = True
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = builder.data
    parser.EntityDeclHandler = _refuse_entity
    try:
        parser.Parse(data, True)
        return builder.close()
    except _RefusedError as error:
        raise UnreadableFileError(f"“{name}” is refused because {error}: export it again.") from error
    except expat.ExpatError as error:
        raise UnreadableFileError(
            f"“{name}” is broken XML (line {error.lineno}): export it again as plain MusicXML."
        ) from error
    except (ValueError, LookupError) as error:
        raise UnreadableFileError(
            f"“{name}” is XML in an encoding that is not read: save it as UTF-8."
        ) from error


def _refuse_entity(*_declaration: object) -> Never:
    raise _RefusedError("it declares an entity, which no music needs")
