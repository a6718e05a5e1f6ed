"""A teacher's pack: a zip file of ``pack.toml``, ``reference.musicxml`` and perhaps the recording."""

import hashlib
import io
import re
import tomllib
import zipfile
from dataclasses import dataclass, replace
from pathlib import Path

from coach.errors import InputError, StoreError, UnreadableFileError
from coach.practice.events import GridSet, KeyChosen, SectionRecord
from coach.practice.plain import from_plain, to_plain
from coach.sessions.ports.exchange import OpenedPack, Pack
from coach.sheet import read_musicxml, write_musicxml
from coach.store.atomic import write_whole
from coach.store.safe_zip import SafeZip, ZipLimits, opened_zip
from coach.store.toml_text import to_toml

FORMAT = 1
MANIFEST = "pack.toml"
REFERENCE = "reference.musicxml"
RECORDINGS = "recording/"
MOST_MANIFEST_BYTES = 1_000_000
MOST_REFERENCE_BYTES = 10_000_000
_DATE = (1980, 1, 1, 0, 0, 0)
"""The same pack gives the same bytes: no entry has a time."""
_ENDING = re.compile(r"\.[a-z0-9]{1,8}")


@dataclass(frozen=True, slots=True)
class Manifest:
    """What ``pack.toml`` holds."""

    format: int
    title: str
    word: str = ""
    recording_sha256: str | None = None
    recording: str | None = None
    reference: str | None = None
    grid: GridSet | None = None
    key: KeyChosen | None = None
    sections: tuple[SectionRecord, ...] = ()


def write_pack(pack: Pack, path: Path) -> None:
    """Write a pack, whole or not at all."""
    recording = None
    if pack.recording is not None:
        recording = f"{RECORDINGS}{pack.recording_sha256}{_ending(pack.recording)}"
    manifest = Manifest(
        format=FORMAT,
        title=pack.title,
        word=pack.word,
        recording_sha256=pack.recording_sha256,
        recording=recording,
        reference=REFERENCE if pack.reference is not None else None,
        grid=None if pack.grid is None else replace(pack.grid, piece=""),
        key=None if pack.key is None else replace(pack.key, piece=""),
        sections=pack.sections,
    )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        _add(archive, MANIFEST, to_toml(to_plain(manifest)).encode())
        if pack.reference is not None:
            _add(archive, REFERENCE, write_musicxml(pack.reference))
        if pack.recording is not None and recording is not None:
            _add(archive, recording, _bytes(pack.recording))
    write_whole(path, out.getvalue())


def read_pack(path: Path, unpacked: Path) -> OpenedPack:
    """Read a pack and check all of it; see `coach.sessions.ports.exchange.Exchange`."""
    with opened_zip(path, ZipLimits()) as box:
        manifest = _manifest(box, path.name)
        reference = None
        if manifest.reference is not None:
            reference = read_musicxml(box.read(manifest.reference, MOST_REFERENCE_BYTES), manifest.reference)
        recording = _recording(box, manifest, unpacked, path.name)
    pack = Pack(
        title=manifest.title,
        word=manifest.word,
        recording_sha256=manifest.recording_sha256,
        recording=recording,
        grid=manifest.grid,
        key=manifest.key,
        sections=manifest.sections,
        reference=reference,
    )
    return OpenedPack(pack, hashlib.sha256(_bytes(path)).hexdigest())


def _manifest(box: SafeZip, name: str) -> Manifest:
    if MANIFEST not in box.names:
        raise UnreadableFileError(f"“{name}” is not a teacher's pack (no {MANIFEST}): ask for a new file.")
    try:
        table = tomllib.loads(box.read(MANIFEST, MOST_MANIFEST_BYTES).decode())
    except (ValueError, RecursionError) as error:
        raise UnreadableFileError(f"The {MANIFEST} of “{name}” is damaged: ask for a new file.") from error
    if isinstance(table.get("format"), int) and table["format"] > FORMAT:
        raise UnreadableFileError(f"“{name}” was made by a newer version of this app: install that one.")
    try:
        manifest = from_plain(Manifest, table)
    except ValueError as error:
        raise UnreadableFileError(f"The {MANIFEST} of “{name}” has a wrong field: {error}.") from error
    if not manifest.title.strip():
        raise UnreadableFileError(f"The pack “{name}” has no title: ask for a new file.")
    return manifest


def _recording(box: SafeZip, manifest: Manifest, unpacked: Path, name: str) -> Path | None:
    if manifest.recording is None:
        return None
    target = unpacked / f"recording{_ending(Path(manifest.recording))}"
    digest = hashlib.sha256()
    try:
        with target.open("wb") as file:
            for block in box.copy(manifest.recording, file):
                digest.update(block)
    except InputError:
        target.unlink()
        raise
    if digest.hexdigest() != manifest.recording_sha256:
        target.unlink()
        raise InputError(f"The recording in “{name}” is damaged (its hash is another): ask for a new file.")
    return target


def _ending(path: Path) -> str:
    ending = path.suffix.lower()
    return ending if _ENDING.fullmatch(ending) else ""


def _add(archive: zipfile.ZipFile, name: str, data: bytes) -> None:
    info = zipfile.ZipInfo(name, _DATE)
    info.compress_type = zipfile.ZIP_DEFLATED
    info.external_attr = 0o100644 << 16
    archive.writestr(info, data)


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise StoreError(f"“{path}” cannot be read ({error.strerror}): choose another file.") from error
