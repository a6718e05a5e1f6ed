"""Frozen values as plain JSON, and back: compiled once for each class from its type hints.

Fractions, dates and moments become strings (``3/2``, ISO 8601), tuples lists, records objects, mappings
objects whose keys are strings. Reading ignores keys it does not know and fills missing ones with the
field's default, so that a value may grow fields without a new version.
"""

from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields, is_dataclass
from datetime import date, datetime
from enum import Enum
from fractions import Fraction
from functools import cache
from types import NoneType, UnionType
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

T = TypeVar("T")
Convert = Callable[[Any], Any]


def to_plain(value: object) -> Any:  # noqa: ANN401 - any JSON value
    """The JSON value of a frozen dataclass, by its own class."""
    kind: Any = type(value)
    return _writer(kind)(value)


def from_plain(kind: type[T], plain: object) -> T:
    """A frozen dataclass out of its JSON value.

    Raises
    ------
    ValueError
        If a field is missing, or of another type than the class asks for.
    """
    try:
        read: Any = kind
        value = _reader(read)(plain)
    except (TypeError, KeyError, AttributeError, ZeroDivisionError) as error:
        raise ValueError(f"not a {kind.__name__}: {error}") from error
    if not isinstance(value, kind):
        raise ValueError(f"not a {kind.__name__}")  # noqa: TRY004 - bad data, not a bad call
    return value


def _same(value: object) -> object:
    return value


def _checked(kind: type) -> Convert:
    def check(value: object) -> object:
        # bool is an int to Python, but not to the log.
        if type(value) is kind:
            return value
        if kind is float and type(value) is int:
            return float(value)
        raise ValueError(f"expected {kind.__name__}, got {value!r}")

    return check


def _optional_part(hint: object) -> object | None:
    """X of ``X | None``, None for other hints; wider unions are misuse."""
    if get_origin(hint) not in {Union, UnionType}:
        return None
    parts = [part for part in get_args(hint) if part is not NoneType]
    if len(parts) != 1 or len(get_args(hint)) != 2:
        raise ValueError(f"a field can be X or X | None, not {hint}")
    found: object = parts[0]
    return found


@cache
def _writer(hint: Any) -> Convert:  # noqa: ANN401 - any type hint
    optional = _optional_part(hint)
    if optional is not None:
        write_part = _writer(optional)
        return lambda value: None if value is None else write_part(value)
    if get_origin(hint) is tuple:
        write_item = _writer(get_args(hint)[0])
        return lambda value: [write_item(item) for item in value]
    if get_origin(hint) is Mapping:
        write_key, write_value = (_writer(part) for part in get_args(hint))
        return lambda value: {str(write_key(key)): write_value(item) for key, item in value.items()}
    if is_dataclass(hint):
        return _record_writer(hint)
    return _simple_writer(hint)


def _simple_writer(kind: type) -> Convert:
    if issubclass(kind, Enum):
        return lambda value: value.value
    if issubclass(kind, date):
        return lambda value: value.isoformat()
    if kind is Fraction:
        return str
    if kind in {float, int}:
        return kind  # numpy's numbers become Python's own
    if kind in {str, bool}:
        return _same
    raise ValueError(f"no plain form for {kind}")


def _record_writer(kind: Any) -> Convert:  # noqa: ANN401 - any dataclass
    hints = get_type_hints(kind)
    parts = tuple((field.name, _writer(hints[field.name])) for field in fields(kind))
    return lambda value: {name: write(getattr(value, name)) for name, write in parts}


@cache
def _reader(hint: Any) -> Convert:  # noqa: ANN401 - any type hint
    optional = _optional_part(hint)
    if optional is not None:
        read_part = _reader(optional)
        return lambda plain: None if plain is None else read_part(plain)
    if get_origin(hint) is tuple:
        return _tuple_reader(_reader(get_args(hint)[0]))
    if get_origin(hint) is Mapping:
        read_key, read_value = _key_reader(get_args(hint)[0]), _reader(get_args(hint)[1])
        return lambda plain: {read_key(key): read_value(item) for key, item in plain.items()}
    if is_dataclass(hint):
        return _record_reader(hint)
    return _simple_reader(hint)


def _tuple_reader(read_item: Convert) -> Convert:
    def read(plain: object) -> tuple[Any, ...]:
        if not isinstance(plain, list):
            raise ValueError(f"expected a list, got {plain!r}")  # noqa: TRY004 - bad data, not a bad call
        return tuple(read_item(item) for item in plain)

    return read


def _key_reader(kind: Any) -> Convert:  # noqa: ANN401 - any type hint
    return int if kind is int else _reader(kind)


def _simple_reader(kind: Any) -> Convert:  # noqa: ANN401 - any class
    if issubclass(kind, Enum):
        return kind  # type: ignore[no-any-return]
    if issubclass(kind, datetime):
        return datetime.fromisoformat
    if issubclass(kind, date):
        return date.fromisoformat
    if kind is Fraction:
        return _fraction
    if kind in {str, int, float, bool}:
        return _checked(kind)
    raise ValueError(f"no plain form for {kind}")


@cache
def _fraction(text: str) -> Fraction:
    """Parsed once: a log holds few different musical times, and parsing one is slow."""
    return Fraction(text)


def _record_reader(kind: Any) -> Convert:  # noqa: ANN401 - any dataclass
    hints = get_type_hints(kind)
    parts = tuple(
        (
            field.name,
            _reader(hints[field.name]),
            field.default is not MISSING or field.default_factory is not MISSING,
        )
        for field in fields(kind)
    )

    def read(plain: Mapping[str, Any]) -> Any:  # noqa: ANN401 - an instance of the class
        return kind(
            **{name: convert(plain[name]) for name, convert, spare in parts if not spare or name in plain}
        )

    return read
