"""Events as (kind, version, JSON text), and back."""

import json
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, get_args

from coach.errors import StoreError
from coach.practice.events import Event
from coach.practice.plain import from_plain, to_plain

EVENT_CLASSES: Mapping[str, type[Event]] = MappingProxyType({cls.kind: cls for cls in get_args(Event)})
"""Every class of event by its kind."""

UPGRADES: Mapping[tuple[str, int], Callable[[dict[str, Any]], dict[str, Any]]] = MappingProxyType({})
"""For each retired (kind, version): turns its payload into that of the next version."""


def encode(event: Event) -> tuple[str, int, str]:
    """Kind, version and JSON payload of an event.

    Raises
    ------
    ValueError
        On a number that JSON cannot hold (NaN, infinity).
    """
    payload = json.dumps(to_plain(event), ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return event.kind, event.version, payload


def decode(kind: str, version: int, payload: str) -> Event:
    """The event that was written so.

    Raises
    ------
    StoreError
        If this program does not know the kind or version, or the payload is damaged.
    """
    cls = EVENT_CLASSES.get(kind)
    if cls is None or version > cls.version:
        raise StoreError(
            f"The log holds an entry ({kind}, version {version}) of a newer version of this app: "
            "install the newest version and open it again."
        )
    try:
        plain = json.loads(payload)
        for old in range(version, cls.version):
            plain = UPGRADES[kind, old](plain)
        return from_plain(cls, plain)
    except (ValueError, KeyError) as error:
        raise StoreError(
            f"An entry of the log ({kind}) is damaged and cannot be read: restore your last back-up."
        ) from error


def plain_event(event: Event) -> dict[str, Any]:
    """The payload of an event as a JSON object."""
    found: dict[str, Any] = to_plain(event)
    return found
