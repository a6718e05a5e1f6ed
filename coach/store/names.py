"""Names of files and keys that are safe on every system."""

import re
import unicodedata

from coach.errors import InputError
from coach.sessions.file_names import DEVICE_NAME

_PART = re.compile(r"[^\x00-\x1f<>:\"|?*\\/]+")
LONGEST_PART = 120
_KEY = re.compile(r"[A-Za-z0-9_-]{1,150}")


def plain_name(name: str) -> str:
    """A relative name with ``/`` that leads nowhere else, given back as it is.

    Raises
    ------
    InputError
        If it is absolute, climbs (``..``), hides (``.name``), or holds what some system forbids.
    """
    for part in name.split("/"):
        fits = _PART.fullmatch(part) and len(part) <= LONGEST_PART
        if not fits or DEVICE_NAME.fullmatch(part) or part.startswith(".") or part.endswith((".", " ")):
            raise InputError(f"“{name}” is not a plain file name: use letters, digits, - and _ only.")
    return name


def plain_key(key: str) -> str:
    """A key of letters, digits, ``-`` and ``_``, given back as it is; ``ValueError`` for another."""
    if not _KEY.fullmatch(key):
        raise ValueError(f"not a plain key: {key!r}")
    return key


def slug(title: str) -> str:
    """A short folder name made of a title: lower-case letters, digits and ``-``."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode()
    short = re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:40].rstrip("-") or "piece"
    return f"{short}-piece" if DEVICE_NAME.fullmatch(short) else short
