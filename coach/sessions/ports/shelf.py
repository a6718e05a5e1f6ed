"""The player's own files, as far as a screen offers them to be chosen."""

from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

DOCUMENTS, HOME = "Documents", "Home"
"""Names of two places that most devices have."""


@dataclass(frozen=True, slots=True)
class Place:
    """A folder to begin with, by the name people give it (“Music”)."""

    name: str
    folder: Path


@dataclass(frozen=True, slots=True)
class OnShelf:
    """A folder, or a file of a kind that was asked for."""

    path: Path
    is_folder: bool
    size_bytes: int = 0


class Shelf(Protocol):
    """Looks into folders; reads no file and writes none."""

    def places(self) -> tuple[Place, ...]:
        """The usual folders that are there, the likeliest for music first, then drives plugged in."""
        ...

    def look(self, folder: Path, endings: frozenset[str]) -> tuple[OnShelf, ...]:
        """What is in a folder: its folders by name, then its files with one of the endings by name.

        Parameters
        ----------
        endings
            With the point, lower case (``.mp3``); the files' own may be in capitals.

        Raises
        ------
        StoreError
            If the folder cannot be looked into.
        """
        ...
