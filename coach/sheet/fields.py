"""Typed reading of JSON fields, with errors that say which field of which note is wrong."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import cast

from coach.errors import LineError

_TIME = re.compile(r"\s*(-?[0-9]{1,7})(?:/([0-9]{1,4})|\.([0-9]{1,6}))?\s*")
_HINT = "write quarter notes as “3/2” or “1”"


@dataclass(frozen=True, slots=True)
class Fields:
    """One JSON object and the words that name it in an error (``melody note 3``)."""

    values: Mapping[str, object]
    where: str

    @classmethod
    def of(cls, value: object, where: str) -> "Fields":
        """The object, or a `LineError` where the value is something else."""
        if not isinstance(value, dict):
            raise LineError(f"The {where} must be an object in braces, not {_kind(value)}.")
        return cls(cast("dict[str, object]", value), where)

    def has(self, key: str) -> bool:
        """Whether a key is there with a value."""
        return self.values.get(key) is not None

    def text(self, key: str, default: str) -> str:
        """A text field."""
        value = self.values.get(key)
        if value is None:
            return default
        if not isinstance(value, str):
            raise LineError(f"The {where_of(self, key)} must be text in quotes, not {_kind(value)}.")
        return value

    def whole(self, key: str, low: int, high: int, default: int | None = None) -> int:
        """A whole number within limits; missing is an error unless there is a default."""
        value = self.values.get(key)
        if value is None and default is not None:
            return default
        if isinstance(value, float) and value.is_integer():
            value = int(value)
        if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
            raise LineError(
                f"The {where_of(self, key)} must be a whole number from {low} to {high}, not {_shown(value)}."
            )
        return value

    def number(self, key: str, default: float) -> float:
        """A number, such as a tempo."""
        value = self.values.get(key)
        if value is None:
            return default
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise LineError(f"The {where_of(self, key)} must be a number, not {_kind(value)}.")
        try:
            return float(value)
        except OverflowError as error:
            raise LineError(f"The {where_of(self, key)} is too large a number.") from error

    def time(self, key: str, default: Fraction | None = None) -> Fraction:
        """A musical time in quarter notes; missing is an error unless there is a default."""
        value = self.values.get(key)
        if value is None and default is not None:
            return default
        if isinstance(value, int) and not isinstance(value, bool) and abs(value) < 10**7:
            return Fraction(value)
        if isinstance(value, float) and abs(value) < 10**7:
            return Fraction(str(value))
        match = _TIME.fullmatch(value) if isinstance(value, str) else None
        if match is None or (match[2] is not None and int(match[2]) == 0):
            raise LineError(f"The {where_of(self, key)} is {_shown(value)}: {_HINT}.")
        return Fraction("".join(match[0].split()))

    def items(self, key: str) -> list[object]:
        """A list, empty where the key is missing."""
        value = self.values.get(key)
        if value is None:
            return []
        if not isinstance(value, list):
            raise LineError(f"The {where_of(self, key)} must be a list in brackets, not {_kind(value)}.")
        return value


def where_of(fields: Fields, key: str) -> str:
    """The words for one field: ``onset of melody note 3``."""
    return f"{key} of {fields.where}"


def _kind(value: object) -> str:
    match value:
        case None:
            return "nothing"
        case bool():
            return "true or false"
        case int() | float():
            return "a number"
        case str():
            return "text"
        case list():
            return "a list"
        case _:
            return "an object"


def _shown(value: object) -> str:
    if isinstance(value, str):
        return f"“{value[:40]}”"
    if isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < 10**9:
        return str(value)
    return _kind(value)
