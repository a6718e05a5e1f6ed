"""The project's own data (exercises, assets), read from a folder."""

from dataclasses import dataclass
from pathlib import Path

from coach.errors import MissingPartError
from coach.store.names import plain_name


@dataclass(frozen=True, slots=True)
class DataFolder:
    """The `Folder` port on the real disk; a folder that is not there is an empty one."""

    root: Path

    def names(self, suffix: str = "") -> tuple[str, ...]:
        """Relative names of all files below with an ending, with ``/``, sorted."""
        found = (path.relative_to(self.root).as_posix() for path in self.root.rglob("*") if path.is_file())
        return tuple(sorted(name for name in found if name.endswith(suffix)))

    def read(self, name: str) -> bytes:
        """One file; ``MissingPartError`` if it is not there."""
        try:
            return (self.root / plain_name(name)).read_bytes()
        except OSError as error:
            raise MissingPartError(
                f"A part of the app is missing ({self.root.name}/{name}): install the app again."
            ) from error
