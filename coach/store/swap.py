"""Putting one state of the data folder in the place of another, whole or not at all, even through a crash.

The new state is unpacked beside the old one, then both change places by renaming; what is left of a swap
that the power was cut in is taken back by `mend`, which whoever holds the folder's lock may call.
"""

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from coach.store.atomic import sync_folder
from coach.store.database import DATABASE

FILES = (DATABASE, "settings.json")
PIECES, DRILLS = "pieces", "drills"
KEPT = (*FILES, PIECES, DRILLS)
"""What makes up a state: all but what can be computed again."""
JOURNALS = (f"{DATABASE}-wal", f"{DATABASE}-shm")
_ROOM = ".restoring-"
_NEW, _OLD, _DONE = "new", "old", "done"


@dataclass(frozen=True, slots=True)
class Swap:
    """A new state in a room of its own, ready to be put in the place of what is there.

    Parameters
    ----------
    folder
        The data folder, on the same file system as the room.
    """

    folder: Path
    room: Path

    @property
    def new(self) -> Path:
        """Where the new state is put together."""
        return self.room / _NEW

    def do(self) -> None:
        """Move what is there away and the new in; ``OSError``, and all is as it was, if that fails."""
        old, new = self.room / _OLD, self.new
        # Drills of the player's own make way only for others: older back-ups never held any.
        names = (*(top for top in KEPT if top != DRILLS or (new / top).exists()), *JOURNALS)
        try:
            for name in names:
                if (self.folder / name).exists():
                    (self.folder / name).rename(old / name)
            for name in KEPT:
                if (new / name).exists():
                    (new / name).rename(self.folder / name)
            sync_folder(self.folder)
            old.rename(self.room / _DONE)
        except OSError:
            _take_back(self.folder, self.room)
            raise


@contextmanager
def swapping(folder: Path) -> Iterator[Swap]:
    """A room for a swap; it is gone afterwards, with whichever state is not in its place."""
    with tempfile.TemporaryDirectory(prefix=_ROOM, dir=folder) as name:
        for part in (_NEW, _OLD):
            (Path(name) / part).mkdir()
        yield Swap(folder, Path(name))


def mend(folder: Path) -> None:
    """Take back a swap that was cut off half-way, and clear away; needs the folder's lock."""
    for room in folder.glob(f"{_ROOM}*"):
        _take_back(folder, room)
        shutil.rmtree(room, ignore_errors=True)


def _take_back(folder: Path, room: Path) -> None:
    old = room / _OLD
    for name in (*KEPT, *JOURNALS):
        if (old / name).exists():
            if (folder / name).exists():
                (folder / name).rename(room / f"half-{name}")
            (old / name).rename(folder / name)
