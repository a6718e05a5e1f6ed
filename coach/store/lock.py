"""The lock file: one writer to a data folder at a time."""

import os
import sys
from pathlib import Path

from coach.errors import LockedError, StoreError


class FolderLock:
    """Holds a data folder for one program until `release`, or until the program ends in any way.

    The system's own file lock is used, so a crash leaves nothing locked; the file itself stays and means
    nothing.

    Raises
    ------
    LockedError
        If another copy of the app has the folder.
    StoreError
        If the lock file cannot be made.
    """

    def __init__(self, path: Path) -> None:
        try:
            self._handle: int | None = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
        except OSError as error:
            raise unwritable(path.parent) from error
        try:
            _take(self._handle)
        except OSError as error:
            self.release()
            raise LockedError(
                "Another copy of the app is open with this data folder: close it first, then try again."
            ) from error

    def release(self) -> None:
        """Let go; harmless the second time."""
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None


def unwritable(folder: Path) -> StoreError:
    """What to say when the data folder cannot be written."""
    return StoreError(
        f"The data folder “{folder}” cannot be written, so nothing new can be kept (what is there is safe): "
        "make it writable or name another folder with --data."
    )


if sys.platform == "win32":
    import msvcrt

    def _take(handle: int) -> None:
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _take(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
