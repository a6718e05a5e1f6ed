"""Where a field stands in a TOML text: the standard parser does not tell, a message must."""

import re

_TABLE = re.compile(r"\s*\[\[?\s*([A-Za-z0-9_.-]+)\s*\]\]?\s*(#.*)?")
_FIELD = re.compile(r"\s*([A-Za-z0-9_-]+)\s*=")


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
        for number, line in enumerate(text.splitlines(), start=1):
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
        """Line of a field (from 1), that of its table's header where the field is missing."""
        missing = self._headers.get((table, index), 1)
        return self._lines.get((table, index, field), missing)
