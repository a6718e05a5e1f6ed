"""Files outside the data folder, for the player."""

from dataclasses import dataclass
from pathlib import Path

from coach.store.atomic import write_whole


@dataclass(frozen=True, slots=True)
class AtomicWriter:
    """The `FileWriter` port on the real disk."""

    def write(self, path: Path, data: bytes) -> None:
        """Write whole or not at all, making the folder; ``StoreError`` if that fails."""
        write_whole(path, data)
