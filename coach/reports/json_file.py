"""The JSON form of a report: written for the teacher's watched folder, and read there."""

import json

from coach.errors import TooLargeError, UnreadableFileError
from coach.practice.plain import from_plain, to_plain
from coach.reports.values import FORMAT, Report

MOST_BYTES = 20_000_000
"""A report of ten years has under 2 MB."""


def report_json(report: Report) -> bytes:
    """A report as UTF-8 JSON."""
    text = json.dumps(to_plain(report), ensure_ascii=False, allow_nan=False, indent=1)
    return text.encode() + b"\n"


def read_report(data: bytes, name: str) -> Report:
    """A report out of a learner's file.

    Parameters
    ----------
    name
        The file's name, for errors.

    Raises
    ------
    InputError
        If it is too large, no report, or of a newer format.
    """
    if len(data) > MOST_BYTES:
        raise TooLargeError(f"“{name}” is too large for a report: ask for a new one.")
    try:
        plain = json.loads(data)
        newer = isinstance(plain, dict) and plain.get("format", 0) > FORMAT
    except (ValueError, TypeError, RecursionError) as error:
        raise UnreadableFileError(f"“{name}” is not a report of this app: ask for a new one.") from error
    if newer:
        raise UnreadableFileError(f"“{name}” was written by a newer version of this app: install that one.")
    try:
        return from_plain(Report, plain)
    except ValueError as error:
        raise UnreadableFileError(f"“{name}” is not a report of this app: ask for a new one.") from error
