"""A bounded cache on disk: results of long analyses, which can always be computed again."""

import contextlib
import os
from dataclasses import dataclass
from pathlib import Path

from coach.errors import StoreError
from coach.store.atomic import write_whole
from coach.store.names import plain_key

MOST_BYTES = 1_000_000_000
"""Room for the analysis and the slowed copies of a few dozen pieces (about 20 MB each)."""
_SUFFIX = ".cache"


@dataclass(frozen=True, slots=True)
class DiskCache:
    """The `AnalysisCache` port: one file a key; what was used longest ago makes room.

    Parameters
    ----------
    folder
        Made when first needed.
    most_bytes
        Bound of all files together.
    """

    folder: Path
    most_bytes: int = MOST_BYTES

    def get(self, key: str) -> bytes | None:
        """What was put under a key, ``None`` if it is gone."""
        path = self._path(key)
        try:
            data = path.read_bytes()
        except OSError:
            return None
        with contextlib.suppress(OSError):
            os.utime(path)
        return data

    def put(self, key: str, data: bytes) -> None:
        """Keep bytes under a key, if there is room at all; failing to is not an error."""
        if len(data) > self.most_bytes:
            return
        self._make_room(len(data))
        with contextlib.suppress(StoreError):
            write_whole(self._path(key), data, to_disk=False)

    def _path(self, key: str) -> Path:
        return self.folder / (plain_key(key) + _SUFFIX)

    def _make_room(self, wanted: int) -> None:
        with contextlib.suppress(OSError):
            files = [(path, path.stat()) for path in self.folder.glob("*" + _SUFFIX)]
            held = sum(stat.st_size for _, stat in files)
            for path, stat in sorted(files, key=lambda each: each[1].st_mtime_ns):
                if held + wanted <= self.most_bytes:
                    return
                path.unlink(missing_ok=True)
                held -= stat.st_size
