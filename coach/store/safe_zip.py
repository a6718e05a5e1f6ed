"""Reading zip files that come from elsewhere: nothing in them is trusted, not even their own sizes."""

import stat
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import BinaryIO

from coach.errors import InputError, TooLargeError, UnreadableFileError
from coach.store.names import plain_name

MOST_BYTES = 500_000_000
MOST_ENTRIES = 200
"""Limits of a pack (the product's own)."""
_BLOCK = 1 << 20
_METHODS = {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}


@dataclass(frozen=True, slots=True)
class ZipLimits:
    """How much may come out of one file; ``None`` for no limit (a back-up of one's own)."""

    most_bytes: int | None = MOST_BYTES
    most_entries: int | None = MOST_ENTRIES


class SafeZip:
    """An open zip file whose entries were checked: plain names, no links, no doubles, not too many."""

    def __init__(self, archive: zipfile.ZipFile, name: str, limits: ZipLimits) -> None:
        self._archive = archive
        self.name = name
        self._left = limits.most_bytes
        self._entries = self._checked(limits)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all files in it, in order."""
        return tuple(self._entries)

    def size(self, name: str) -> int:
        """How large a file of it says to be, unpacked; only for telling how far one is."""
        return self._entries[name].file_size

    def day(self, name: str) -> date | None:
        """The day on which a file of it was written, by the maker's clock; ``None`` if it is no day."""
        try:
            return date(*self._entries[name].date_time[:3])
        except ValueError:
            return None

    def read(self, name: str, most_bytes: int) -> bytes:
        """One file of it, as bytes."""
        parts: list[bytes] = []
        size = 0
        for block in self._blocks(name):
            size += len(block)
            if size > most_bytes:
                raise TooLargeError(f"“{name}” in “{self.name}” is too large: ask for a new file.")
            parts.append(block)
        return b"".join(parts)

    def copy(self, name: str, to: BinaryIO) -> Iterator[bytes]:
        """Write one file of it into an open file; gives the blocks as they pass, for a hash or progress."""
        for block in self._blocks(name):
            to.write(block)
            yield block

    def _blocks(self, name: str) -> Iterator[bytes]:
        info = self._entries.get(name)
        if info is None:
            raise self._damaged(f"“{name}” is missing")
        try:
            with self._archive.open(info) as file:
                while block := file.read(_BLOCK):
                    self._count(len(block))
                    yield block
        except (zipfile.BadZipFile, EOFError, OSError, ValueError, NotImplementedError) as error:
            raise self._damaged("it cannot be unpacked") from error
        except RuntimeError as error:
            raise self._damaged("it is encrypted") from error

    def _count(self, size: int) -> None:
        if self._left is None:
            return
        self._left -= size
        if self._left < 0:
            raise TooLargeError(
                f"“{self.name}” unpacks to more than {MOST_BYTES // 10**6} MB: ask for a smaller one."
            )

    def _checked(self, limits: ZipLimits) -> dict[str, zipfile.ZipInfo]:
        infos = [info for info in self._archive.infolist() if not info.is_dir()]
        if limits.most_entries is not None and len(self._archive.infolist()) > limits.most_entries:
            raise TooLargeError(
                f"“{self.name}” holds more than {limits.most_entries} files: ask for a smaller one."
            )
        found: dict[str, zipfile.ZipInfo] = {}
        for info in infos:
            self._check(info, found)
            found[info.filename] = info
        return found

    def _check(self, info: zipfile.ZipInfo, found: dict[str, zipfile.ZipInfo]) -> None:
        try:
            plain_name(info.filename)
        except InputError as error:
            raise self._damaged(f"it holds an unsafe name, “{info.filename[:80]}”") from error
        if info.filename.casefold() in {name.casefold() for name in found}:
            raise self._damaged(f"it holds “{info.filename}” twice")
        kind = stat.S_IFMT(info.external_attr >> 16)
        if kind not in {0, stat.S_IFREG} or info.compress_type not in _METHODS or info.flag_bits & 1:
            raise self._damaged(f"“{info.filename}” is not a plain file")

    def _damaged(self, why: str) -> UnreadableFileError:
        return UnreadableFileError(f"“{self.name}” cannot be used, {why}: ask for a new file.")


@contextmanager
def opened_zip(path: Path, limits: ZipLimits) -> Iterator[SafeZip]:
    """Open a zip file for reading and check its list of entries.

    Raises
    ------
    InputError
        If it cannot be read, is no zip file, or breaks a rule.
    """
    try:
        archive = zipfile.ZipFile(path)
    except OSError as error:
        raise UnreadableFileError(
            f"“{path}” cannot be read ({error.strerror or error}): choose another file."
        ) from error
    except (zipfile.BadZipFile, ValueError, NotImplementedError) as error:
        raise UnreadableFileError(f"“{path.name}” is not a pack or back-up: choose another file.") from error
    with archive:
        yield SafeZip(archive, path.name, limits)
