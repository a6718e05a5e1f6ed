"""The `Shelf` port on the real disk."""

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from coach.errors import StoreError
from coach.sessions.ports import OnShelf, Place


@dataclass(frozen=True, slots=True)
class DiskShelf:
    """Folders of the disk.

    Parameters
    ----------
    usual
        The user's folders, whether or not they are there.
    drives
        Folders in which a drive appears as a folder of its own when it is plugged in.
    """

    usual: tuple[Place, ...]
    drives: tuple[Path, ...] = ()

    def places(self) -> tuple[Place, ...]:
        """The usual folders that are there, then the drives plugged in; each once."""
        found: dict[Path, Place] = {}
        for place in (*self.usual, *self._plugged_in()):
            if place.folder.is_dir():
                found.setdefault(place.folder, place)
        return tuple(found.values())

    def look(self, folder: Path, endings: frozenset[str]) -> tuple[OnShelf, ...]:
        """Folders by name, then files of these kinds by name; what is hidden by its name is left out."""
        try:
            with os.scandir(folder) as entries:
                found = [on for entry in entries if (on := _on_shelf(entry, endings)) is not None]
        except OSError as error:
            name = folder.name or folder
            raise StoreError(
                f"The folder “{name}” cannot be opened ({error.strerror}): choose another one."
            ) from error
        return tuple(sorted(found, key=lambda on: (not on.is_folder, on.path.name.casefold())))

    def _plugged_in(self) -> Iterator[Place]:
        for where in self.drives:
            try:
                yield from (Place(drive.name, drive) for drive in sorted(where.iterdir()))
            except OSError:
                continue  # nothing was ever plugged in


def _on_shelf(entry: "os.DirEntry[str]", endings: frozenset[str]) -> OnShelf | None:
    if entry.name.startswith("."):
        return None
    try:
        if entry.is_dir():
            return OnShelf(Path(entry.path), is_folder=True)
        if Path(entry.name).suffix.lower() in endings and entry.is_file():
            return OnShelf(Path(entry.path), is_folder=False, size_bytes=entry.stat().st_size)
    except OSError:
        return None  # a link that leads nowhere, a file that has just gone
    return None
