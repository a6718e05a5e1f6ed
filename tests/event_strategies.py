"""Hypothesis strategies for log events, built from their type hints."""

from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime, timedelta, timezone
from enum import Enum
from fractions import Fraction
from types import NoneType
from typing import Any, get_args, get_origin, get_type_hints

from hypothesis import strategies as st

from coach.practice.events import Event

EVENT_KINDS: tuple[Any, ...] = get_args(Event)


def moments() -> st.SearchStrategy[datetime]:
    """Moments with any whole-minute offset from UTC that is in use."""
    zones = st.integers(-12 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
    return st.datetimes(datetime(2020, 1, 1), datetime(2040, 1, 1), timezones=st.just(UTC) | zones)  # noqa: DTZ001


def values_of(hint: Any) -> st.SearchStrategy[Any]:
    """Any value that a field with this hint may hold."""
    if get_origin(hint) is tuple:
        return st.lists(values_of(get_args(hint)[0]), max_size=4).map(tuple)
    if NoneType in get_args(hint):
        return st.none() | values_of(next(part for part in get_args(hint) if part is not NoneType))
    if is_dataclass(hint):
        hints = get_type_hints(hint)
        return st.builds(hint, **{field.name: values_of(hints[field.name]) for field in fields(hint)})
    if issubclass(hint, Enum):
        return st.sampled_from(hint)
    simple: dict[Any, st.SearchStrategy[Any]] = {
        str: st.text(st.characters(exclude_categories=("Cs",)), max_size=12),
        bool: st.booleans(),
        int: st.integers(-(2**53), 2**53),
        float: st.floats(allow_nan=False, allow_infinity=False),
        Fraction: st.fractions(max_denominator=16),
        date: st.dates(),
    }
    return simple[hint]


def events() -> st.SearchStrategy[Event]:
    """Any event whatever."""
    return st.sampled_from(EVENT_KINDS).flatmap(values_of)
