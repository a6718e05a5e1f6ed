"""Names of the files that the player is given, made of a title or a person's name."""

import re

LONGEST = 60
DEVICE_NAME = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?", re.IGNORECASE)
"""Device names of Windows (Microsoft, "Naming Files, Paths, and Namespaces"): no file may be called so."""
_WORD = re.compile(r"[^\W_]+")


def file_stem(words: str, otherwise: str) -> str:
    """Words as a file's name on any system, without its ending: letters and digits, hyphens between words.

    Parameters
    ----------
    words
        Whatever the player wrote; 60 letters of it are kept.
    otherwise
        What the file is called where that leaves nothing; added where no file may be called what is left.
    """
    stem = "-".join(_WORD.findall(words))[:LONGEST].rstrip("-") or otherwise
    return f"{stem}-{otherwise}" if DEVICE_NAME.fullmatch(stem) else stem
