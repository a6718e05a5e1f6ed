"""Writing plain values as TOML 1.0; reading is Python's own ``tomllib``."""

import json
from collections.abc import Iterator, Mapping, Sequence


def to_toml(table: Mapping[str, object]) -> str:
    """A table as TOML: plain values first, then tables, then lists of tables; ``None`` is left out.

    Keys must be bare (letters, digits, ``_``); values are texts, numbers, booleans, lists of these, tables
    and lists of tables, one level deep.
    """
    lines = list(_pairs(table))
    for key, value in table.items():
        if isinstance(value, Mapping):
            lines += ["", f"[{key}]", *_pairs(value)]
        for item in _tables(value):
            lines += ["", f"[[{key}]]", *_pairs(item)]
    return "\n".join(lines) + "\n"


def _tables(value: object) -> list[Mapping[str, object]]:
    """The tables of a list of tables, none for any other value."""
    return [item for item in value if isinstance(item, Mapping)] if isinstance(value, list) else []


def _pairs(table: Mapping[str, object]) -> Iterator[str]:
    for key, value in table.items():
        if value is not None and not isinstance(value, Mapping) and not _tables(value):
            yield f"{key} = {_value(value)}"


def _value(value: object) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case int() | float():
            return repr(value)
        case str():
            # A TOML basic string is escaped like JSON's, and DEL besides (TOML 1.0, “String”).
            return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
        case Sequence():
            return f"[{', '.join(_value(item) for item in value)}]"
        case _:
            raise ValueError(f"no TOML for {value!r}")
