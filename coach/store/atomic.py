"""Writing a file whole or not at all."""

import contextlib
import os
import tempfile
from pathlib import Path

from coach.errors import StoreError


def write_whole(path: Path, data: bytes, *, to_disk: bool = True) -> None:
    """Write a file by way of a temporary one beside it, and make its folder.

    After a crash the path holds the old bytes or the new ones, never a part.

    Parameters
    ----------
    to_disk
        Whether to wait until the disk has it (fsync); not worth it for a cache.

    Raises
    ------
    StoreError
        If it could not be written; the old file, if any, is as it was.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=".writing-", dir=path.parent)
    except OSError as error:
        raise _failed(path, error) from error
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            if to_disk:
                file.flush()
                os.fsync(file.fileno())
        temporary.chmod(_usual_mode(path))
        temporary.replace(path)
        if to_disk:
            sync_folder(path.parent)
    except OSError as error:
        with contextlib.suppress(OSError):
            temporary.unlink()
        raise _failed(path, error) from error


def sync_folder(folder: Path) -> None:
    """Make a rename in a folder last through a power cut, where the system offers that (not on Windows)."""
    if os.name == "nt":
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _usual_mode(path: Path) -> int:
    """The mode of the file that is replaced, else that of a new file (mkstemp's own is for secrets)."""
    if path.exists():
        return path.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _failed(path: Path, error: OSError) -> StoreError:
    return StoreError(
        f"“{path}” cannot be written ({error.strerror or error}): free some space or choose another place."
    )
