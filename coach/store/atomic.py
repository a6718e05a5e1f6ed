"""Writing a file whole or not at all."""

import contextlib
import os
import uuid
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
    # Not the standard library's temporary file: that one is for secrets, and the finished file would be, too.
    temporary = path.parent / f".writing-{uuid.uuid4().hex}"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with temporary.open("xb") as file:
            file.write(data)
            if to_disk:
                file.flush()
                os.fsync(file.fileno())
        if path.exists():
            temporary.chmod(path.stat().st_mode & 0o777)
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


def _failed(path: Path, error: OSError) -> StoreError:
    return StoreError(
        f"“{path}” cannot be written ({error.strerror or error}): free some space or choose another place."
    )
