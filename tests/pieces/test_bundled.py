"""The bundled pieces are singable, suit the guitar, and are read with care."""

from itertools import pairwise
from pathlib import Path

import pytest

from coach.errors import DrillDataError
from coach.pieces.bundled import load_bundled

FOLDER = Path(__file__).parents[2] / "exercises" / "pieces"
FILES = sorted(FOLDER.glob("*.toml"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_bundled_piece_is_a_first_piece(path: Path) -> None:
    piece = load_bundled(path.read_bytes(), path.name)
    assert piece.id == path.stem
    assert piece.arrangement.bar_count == 8
    assert [section.name for section in piece.arrangement.sections] == ["A", "B"]
    melody = [note.midi for note in piece.melody]
    # Sung by most within an eleventh; on the guitar within seven frets of the first three strings.
    assert max(melody) - min(melody) <= 17
    assert all(55 <= midi <= 71 for midi in melody)
    assert all(abs(b - a) <= 9 for a, b in pairwise(melody))
    assert all(
        note.midi % 12 in piece.key.scale_classes for note in (*piece.melody, *piece.bass, *piece.inner)
    )
    assert all(40 <= note.midi <= 52 for note in piece.bass)
    tonic = piece.key.tonic_class
    assert piece.melody.notes[-1].midi % 12 == tonic
    assert piece.bass.notes[-1].midi % 12 == tonic
    assert all(piece.bass.at(piece.arrangement.bar_start(bar)) is not None for bar in range(1, 9))


def test_one_piece_in_three_with_an_upbeat_and_one_in_four() -> None:
    pieces = [load_bundled(path.read_bytes(), path.name) for path in FILES]
    assert {(str(piece.meter), piece.pickup > 0) for piece in pieces} == {("4/4", False), ("3/4", True)}


def test_parts_sound_at_the_tempo() -> None:
    piece = load_bundled(FILES[0].read_bytes(), FILES[0].name)
    tune, bass, inner = piece.parts()
    assert [note.start_s for note in tune.notes] == [
        pytest.approx(float(note.onset) * 60 / piece.tempo_bpm) for note in piece.melody
    ]
    assert len(bass.notes) == len(piece.bass)
    assert inner.level_db < bass.level_db


@pytest.mark.parametrize(
    ("old", "new", "named"),
    [
        ('title = "Lamp at the Landing"', "title = 3", "title"),
        ("tempo_bpm = 84", 'tempo_bpm = "quick"', "tempo_bpm"),
        ("tempo_bpm = 84", "tempo_bpm = 5000", "tempo_bpm"),
        ('"B4"], ["3/2"', '"H4"], ["3/2"', "melody"),
        ('["4", "4", "C3"]', '["4", "9", "C3"]', "bass"),
        ('["1", "1", "G3"]', '["1", "1"]', "inner"),
        ('"piano"', '"kazoo"', "tune_sound"),
        ('pickup = "0"', 'pickup = "1/0"', "pickup"),
        ("melody = [", "melody = [[", "readable"),
    ],
)
def test_a_wrong_field_is_named(old: str, new: str, named: str) -> None:
    text = (FOLDER / "lamp-at-the-landing.toml").read_text()
    assert old in text
    with pytest.raises(DrillDataError) as caught:
        load_bundled(text.replace(old, new, 1).encode(), "lamp.toml")
    assert "lamp.toml" in caught.value.message
    assert named in caught.value.message
