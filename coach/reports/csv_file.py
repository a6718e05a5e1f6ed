"""The log as CSV (RFC 4180), safe to open in a spreadsheet."""

import csv
import io
from collections.abc import Iterable, Mapping

from coach.practice.codec import plain_event
from coach.practice.events import LoggedEvent
from coach.practice.sentences import sentence

COLUMNS = ("number", "day", "time", "kind", "piece", "section", "line", "minutes", "what", "details")
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
"""A spreadsheet would run a cell that begins so (OWASP, “CSV Injection”)."""
_OWN_COLUMNS = {"piece", "section", "line"}


def log_csv(events: Iterable[LoggedEvent], titles: Mapping[str, str]) -> bytes:
    """Events as CSV, one row each: UTF-8 with a header row and CR LF line ends."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, dialect="excel")
    writer.writerow(COLUMNS)
    for logged in events:
        writer.writerow([defused(cell) for cell in _row(logged, titles)])
    return out.getvalue().encode()


def defused(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula: an apostrophe before what begins like one."""
    return f"'{cell}" if cell.startswith(_FORMULA_STARTS) else cell


def _row(logged: LoggedEvent, titles: Mapping[str, str]) -> list[str]:
    plain = plain_event(logged.event)
    seconds = plain.get("seconds") if logged.event.kind == "time_spent" else None
    details = (f"{key}={value}" for key, value in plain.items() if key not in _OWN_COLUMNS)
    return [
        str(logged.seq),
        logged.at.date().isoformat(),
        logged.at.strftime("%H:%M:%S"),
        logged.event.kind,
        *(str(plain.get(key) or "") for key in ("piece", "section", "line")),
        "" if seconds is None else f"{seconds / 60:.2f}",
        sentence(logged.event, titles),
        "; ".join(details),
    ]
