import hashlib
from pathlib import Path

import pytest

from coach.errors import InputError, StoreError, UnreadableFileError
from coach.store.pieces import FolderLibrary


@pytest.fixture
def library(tmp_path: Path) -> FolderLibrary:
    return FolderLibrary(tmp_path / "pieces")


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    path = tmp_path / "My Tune.WAV"
    path.write_bytes(b"RIFF" + bytes(range(256)) * 10)
    return path


def test_a_piece_keeps_a_copy_of_its_recording_named_by_its_hash(
    library: FolderLibrary, recording: Path
) -> None:
    made = library.add("Grüne Wiese!", recording)
    assert made.piece == "001-grune-wiese"
    assert made.title == "Grüne Wiese!"
    assert made.recording is not None
    assert made.recording.name == hashlib.sha256(recording.read_bytes()).hexdigest() + ".wav"
    assert made.recording.read_bytes() == recording.read_bytes()
    assert library.find(made.piece) == made


def test_pieces_come_in_the_order_of_their_making(library: FolderLibrary) -> None:
    names = [library.add(title, None).piece for title in ("zebra", "apple", "", "apple")]
    assert names == ["001-zebra", "002-apple", "003-piece", "004-apple"]
    assert [piece.piece for piece in library.pieces()] == names


def test_there_is_nothing_before_the_first_piece(library: FolderLibrary) -> None:
    assert library.pieces() == ()
    assert not library.root.exists()


def test_a_recording_that_cannot_be_read_leaves_nothing_behind(
    library: FolderLibrary, tmp_path: Path
) -> None:
    with pytest.raises(UnreadableFileError, match="choose another file"):
        library.add("x", tmp_path / "none.wav")
    assert list(library.root.iterdir()) == []


def test_files_of_a_piece(library: FolderLibrary) -> None:
    piece = library.add("x", None).piece
    assert library.read(piece, "takes/1.flac") is None
    path = library.write(piece, "takes/1.flac", b"one")
    library.write(piece, "takes/1.flac", b"two")
    assert library.read(piece, "takes/1.flac") == path.read_bytes() == b"two"
    assert [each.name for each in path.parent.iterdir()] == ["1.flac"]


@pytest.mark.parametrize("name", ["../x", "/etc/passwd", "a/../../x", "", "a//b", "C:x", "a\\b", ".x", "nul"])
def test_no_name_leads_out_of_the_folder(library: FolderLibrary, name: str) -> None:
    piece = library.add("x", None).piece
    with pytest.raises(InputError, match="plain file name"):
        library.write(piece, name, b"")


@pytest.mark.parametrize("piece", ["", "..", "../001-x", "002-y", "001-x/../001-x"])
def test_what_is_no_piece_is_not_found(library: FolderLibrary, piece: str) -> None:
    library.add("x", None)
    with pytest.raises(StoreError, match="no piece"):
        library.find(piece)


def test_a_recording_comes_later(library: FolderLibrary, recording: Path, tmp_path: Path) -> None:
    made = library.add("x", None)
    with pytest.raises(UnreadableFileError):
        library.add_recording(made.piece, tmp_path / "none.wav")
    assert library.find(made.piece) == made
    after = library.add_recording(made.piece, recording)
    assert after == library.find(made.piece)
    assert after.recording is not None
    assert after.recording.read_bytes() == recording.read_bytes()
    assert sorted(each.name for each in made.folder.iterdir()) == sorted(["piece.json", after.recording.name])
    with pytest.raises(StoreError, match="no piece"):
        library.add_recording("009-y", recording)


def test_a_damaged_piece_does_not_hide_the_others(library: FolderLibrary) -> None:
    first, second = library.add("x", None), library.add("y", None)
    (first.folder / "piece.json").write_text("{")
    assert library.pieces() == (second,)
    assert library.add("z", None).piece == "003-z"


def test_a_recording_that_went_away_is_said_to_be_away(library: FolderLibrary, recording: Path) -> None:
    made = library.add("x", recording)
    assert made.recording is not None
    made.recording.unlink()
    assert library.find(made.piece).recording is None
