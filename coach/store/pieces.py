"""The pieces' folders: ``<number>-<title>/`` with ``piece.json``, the recording by its hash, and files."""

import contextlib
import hashlib
import json
import re
import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path

from coach.errors import StoreError, UnreadableFileError
from coach.sessions.ports import PieceFiles
from coach.store.atomic import sync_folder, write_whole
from coach.store.names import plain_name, slug

ABOUT = "piece.json"
_FOLDER = re.compile(r"[0-9]{3,}-[a-z0-9-]+")
_ENDING = re.compile(r"\.[A-Za-z0-9]{1,8}")


@dataclass(frozen=True, slots=True)
class FolderLibrary:
    """The `PieceLibrary` port: one folder a piece below ``root``."""

    root: Path

    def pieces(self) -> tuple[PieceFiles, ...]:
        """All pieces, in order of their making."""
        found = []
        for folder in sorted(self._folders(), key=_number):
            with contextlib.suppress(StoreError):
                found.append(self.find(folder.name))
        return tuple(found)

    def add(self, title: str, recording: Path | None) -> PieceFiles:
        """Make a folder for a new piece, and copy its recording into it (named by its hash)."""
        try:
            self.root.mkdir(parents=True, exist_ok=True)
            making = Path(tempfile.mkdtemp(prefix=".making-", dir=self.root))
        except OSError as error:
            raise _failed(error) from error
        try:
            name = None if recording is None else _copied(recording, making)
            write_whole(making / ABOUT, _about(title, name))
            return self.find(self._settled(making, title))
        except OSError as error:
            raise _failed(error) from error
        finally:
            shutil.rmtree(making, ignore_errors=True)

    def add_recording(self, piece: str, recording: Path) -> PieceFiles:
        """Copy a recording into a piece that has none here (named by its hash)."""
        there = self.find(piece)
        try:
            making = Path(tempfile.mkdtemp(prefix=".making-", dir=there.folder))
        except OSError as error:
            raise _failed(error) from error
        try:
            name = _copied(recording, making)
            (making / name).replace(there.folder / name)
            write_whole(there.folder / ABOUT, _about(there.title, name))
        except OSError as error:
            raise _failed(error) from error
        finally:
            shutil.rmtree(making, ignore_errors=True)
        return self.find(piece)

    def find(self, piece: str) -> PieceFiles:
        """A piece by its identifier; ``StoreError`` if there is none."""
        # A name that is no piece's leads to a folder that cannot be there.
        folder = self.root / (piece if _FOLDER.fullmatch(piece) else ".none")
        try:
            about = json.loads((folder / ABOUT).read_text(encoding="utf-8"))
            title, name = str(about["title"]), about["recording"]
            recording = None if name is None else folder / plain_name(name)
        except (OSError, ValueError, KeyError, TypeError) as error:
            raise StoreError(f"There is no piece “{piece}” in the data folder: look at the list.") from error
        present = recording is not None and recording.is_file()
        return PieceFiles(piece, title, folder, recording if present else None)

    def write(self, piece: str, name: str, data: bytes) -> Path:
        """Write a file of the piece whole or not at all."""
        path = self.find(piece).folder / plain_name(name)
        write_whole(path, data)
        return path

    def read(self, piece: str, name: str) -> bytes | None:
        """A file of the piece, ``None`` if there is none."""
        try:
            return (self.find(piece).folder / plain_name(name)).read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            raise StoreError(f"The file “{name}” of the piece cannot be read: {error.strerror}.") from error

    def _folders(self) -> list[Path]:
        try:
            return [path for path in self.root.iterdir() if _FOLDER.fullmatch(path.name)]
        except OSError:
            return []

    def _settled(self, making: Path, title: str) -> str:
        """Give the finished folder its name: the next number that is free."""
        number = max((_number(folder) for folder in self._folders()), default=0)
        while True:
            number += 1
            target = self.root / f"{number:03d}-{slug(title)}"
            if any(_number(folder) == number for folder in self._folders()):
                continue
            making.chmod(0o755)
            making.rename(target)
            sync_folder(self.root)
            return target.name


def _about(title: str, recording: str | None) -> bytes:
    about = {"format": 1, "title": title, "recording": recording}
    return json.dumps(about, ensure_ascii=False, indent=1).encode()


def _number(folder: Path) -> int:
    return int(folder.name.partition("-")[0])


def _copied(recording: Path, folder: Path) -> str:
    """Copy a recording, and name the copy by its hash."""
    ending = recording.suffix.lower() if _ENDING.fullmatch(recording.suffix) else ""
    copy = folder / "recording"
    digest = hashlib.sha256()
    try:
        source = recording.open("rb")
    except OSError as error:
        raise UnreadableFileError(
            f"“{recording}” cannot be read ({error.strerror}): choose another file."
        ) from error
    with source, copy.open("wb") as target:
        while block := source.read(1 << 20):
            digest.update(block)
            target.write(block)
    name = digest.hexdigest() + ending
    copy.rename(folder / name)
    return name


def _failed(error: OSError) -> StoreError:
    return StoreError(
        f"The piece could not be written into the data folder ({error.strerror or error}): "
        "free some space or make the folder writable."
    )
