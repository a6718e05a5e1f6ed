"""Words from files: made safe to write down again, and short."""

import re
import unicodedata

MAX_WORDS = 200
"""Longest title or name that is kept, in characters; more cannot be shown on a sheet."""
CAPO_WORDS = re.compile(r"capo ([0-9])", re.IGNORECASE)
"""How the capo stands in files that have no field for it."""
_BROKEN = frozenset({"Cc", "Cs"})
_NOT_XML = frozenset({"\ufffe", "\uffff"})


def clean_words(text: str) -> str:
    """Text without control characters, lone surrogates or runs of spaces, at most `MAX_WORDS` long.

    What is left can be written as XML 1.0 (its production ``Char``), JSON and MIDI text.
    """
    kept = "".join(
        " " if unicodedata.category(sign) in _BROKEN or sign in _NOT_XML else sign
        for sign in text[: 4 * MAX_WORDS]
    )
    return " ".join(kept.split())[:MAX_WORDS].strip()
