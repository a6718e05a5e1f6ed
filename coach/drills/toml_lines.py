"""Where a field stands in a TOML text: the standard parser does not tell, a message must."""

import re

_TABLE = re.compile(r"\s*\[\[?\s*([A-Za-z0-9_.-]+)\s*\]\]?\s*(#.*)?")
_FIELD = re.compile(r"\s*[\"']?([A-Za-z0-9_-]+)[\"']?\s*=")
_LONG = ('"""', "'''")


class FieldLines:
    """Line numbers of all fields of a TOML text.

    Parameters
    ----------
    text
        The whole text, tables headed by ``[name]`` or ``[[name]]``.
    """

    def __init__(self, text: str) -> None:
        self._lines: dict[tuple[str, int, str], int] = {}
        self._headers: dict[tuple[str, int], int] = {("", 0): 1}
        table, index, depth = "", 0, 0
        for number, line in enumerate(_without_long_texts(text).splitlines(), start=1):
            header = _TABLE.fullmatch(line) if depth == 0 else None
            if header is not None:
                table = header[1]
                index = sum(1 for name, _ in self._headers if name == table)
                self._headers[table, index] = number
                continue
            named = _FIELD.match(line) if depth == 0 else None
            if named is not None:
                self._lines.setdefault((table, index, named[1]), number)
            bare = re.sub(r"\"[^\"]*\"|'[^']*'|#.*", "", line)
            depth = max(0, depth + bare.count("[") + bare.count("{") - bare.count("]") - bare.count("}"))

    def of(self, field: str, table: str = "", index: int = 0) -> int:
        """Line of a field (from 1); where it is missing that of its table, however that is written."""
        places = (
            self._lines.get((table, index, field)),
            self._headers.get((field, 0)) if not table else None,
            self._headers.get((table, index)),
            self._lines.get(("", 0, table)),
        )
        return next((line for line in places if line is not None), 1)


def _without_long_texts(text: str) -> str:
    """The text with what lies between three quotes taken out, its line ends kept."""
    for quotes in _LONG:
        parts = text.split(quotes)
        text = "".join(
            part if index % 2 == 0 else '""' + "\n" * part.count("\n") for index, part in enumerate(parts)
        )
    return text
