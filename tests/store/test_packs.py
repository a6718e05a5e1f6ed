import contextlib
import hashlib
import io
import tempfile
import tomllib
import warnings
import zipfile
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coach.errors import InputError, TooLargeError
from coach.practice.events import GridSet, KeyChosen, SectionRecord
from coach.sessions.ports.exchange import Pack
from coach.store import packs
from coach.store.safe_zip import ZipLimits, opened_zip
from coach.store.toml_text import to_toml
from tests.strategies import arrangements

SOUND = bytes(range(256)) * 50
SHA = hashlib.sha256(SOUND).hexdigest()
TEXTS = st.text(st.characters(exclude_categories=("Cs",)), max_size=20)


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    path = tmp_path / "My Recording.FLAC"
    path.write_bytes(SOUND)
    return path


def whole(recording: Path | None) -> Pack:
    return Pack(
        title='Grüne "Wiese"',
        word="Take your time.\nBar 3 is the hard one.",
        recording_sha256=SHA,
        recording=recording,
        grid=GridSet("", "3/4", Fraction(1, 2), (Fraction(0), Fraction(3)), (0.25, 2.5), "swing"),
        key=KeyChosen("", "G", 2, -3, 12.5),
        sections=(
            SectionRecord("A", Fraction(0), Fraction(13, 2)),
            SectionRecord("B", Fraction(13, 2), Fraction(13)),
        ),
    )


def test_a_pack_comes_back(tmp_path: Path, recording: Path) -> None:
    path = tmp_path / "pack.zip"
    packs.write_pack(whole(recording), path)
    unpacked = tmp_path / "unpacked"
    unpacked.mkdir()
    read = packs.read_pack(path, unpacked)
    assert read.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert read.pack.recording is not None
    assert read.pack.recording.read_bytes() == SOUND
    assert read.pack.recording.suffix == ".flac"
    assert read.pack == Pack(**{**_fields(whole(None)), "recording": read.pack.recording})


def _fields(pack: Pack) -> dict[str, object]:
    return {name: getattr(pack, name) for name in Pack.__dataclass_fields__}


@settings(max_examples=25, deadline=None)
@given(arrangements().filter(lambda each: len(each.melody) > 0 and len(each.bass) > 0))
def test_reference_lines_come_back_note_by_note(arrangement: object) -> None:
    pack = Pack("T", reference=arrangement)  # type: ignore[arg-type]
    with tempfile.TemporaryDirectory() as folder:
        packs.write_pack(pack, Path(folder) / "pack.zip")
        read = packs.read_pack(Path(folder) / "pack.zip", Path(folder)).pack.reference
    assert read is not None
    for ours, theirs in zip(pack.reference.lines, read.lines, strict=True):  # type: ignore[union-attr]
        assert [(n.onset, n.duration, n.midi) for n in ours] == [
            (n.onset, n.duration, n.midi) for n in theirs
        ]


def test_the_same_pack_gives_the_same_bytes(tmp_path: Path, recording: Path) -> None:
    for name in ("one.zip", "two.zip"):
        packs.write_pack(whole(recording), tmp_path / name)
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()


def test_only_open_formats_are_inside(tmp_path: Path, recording: Path) -> None:
    packs.write_pack(whole(recording), tmp_path / "pack.zip")
    with zipfile.ZipFile(tmp_path / "pack.zip") as archive:
        assert archive.namelist() == ["pack.toml", f"recording/{SHA}.flac"]
        table = tomllib.loads(archive.read("pack.toml").decode())
    assert table["sections"][0] == {"name": "A", "onset": "0", "end": "13/2"}


def test_a_recording_with_another_hash_is_refused(tmp_path: Path, recording: Path) -> None:
    packs.write_pack(whole(recording), tmp_path / "pack.zip")
    with zipfile.ZipFile(tmp_path / "pack.zip") as archive:
        manifest = archive.read("pack.toml")
    made = zip_of({"pack.toml": manifest, f"recording/{SHA}.flac": b"other"})
    (tmp_path / "bad.zip").write_bytes(made)
    with pytest.raises(InputError, match="hash"):
        packs.read_pack(tmp_path / "bad.zip", tmp_path)
    assert list(tmp_path.glob("recording*")) == []


def zip_of(files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        warnings.simplefilter("ignore")  # doubles are wanted here
        for name, data in files.items():
            archive.writestr(name.removesuffix("#2"), data)
    return out.getvalue()


GOOD = b'format = 1\ntitle = "T"\n'


@pytest.mark.parametrize(
    "files",
    [
        {"../pack.toml": GOOD},
        {"/pack.toml": GOOD},
        {"pack.toml": GOOD, "a/../../b": b""},
        {"pack.toml": GOOD, "C:evil": b""},
        {"pack.toml": GOOD, "a\\b": b""},
        {"pack.toml": GOOD, ".hidden": b""},
        {"pack.toml": GOOD, "pack.toml#2": GOOD},
        {"pack.toml": GOOD, "PACK.toml": GOOD},
        {"other.toml": GOOD},
        {"pack.toml": b"format = "},
        {"pack.toml": b"\xff"},
        {"pack.toml": b"format = 1\n"},
        {"pack.toml": b'format = 2\ntitle = "T"\n'},
        {"pack.toml": b'format = 1\ntitle = " "\n'},
        {"pack.toml": b'format = "1"\ntitle = "T"\n'},
        {"pack.toml": GOOD + b'recording = "../../etc/passwd"\n'},
        {"pack.toml": GOOD + b'reference = "gone.musicxml"\n'},
        {
            "pack.toml": GOOD + b'reference = "r.musicxml"\n',
            "r.musicxml": b"<!DOCTYPE x [<!ENTITY a 'b'>]><x/>",
        },
        {f"{number}.txt": b"" for number in range(201)},
        {"pack.toml": b"#" * 1_000_001},
        {"pack.toml": GOOD + b"word = " + b"[" * 9000},
    ],
)
def test_what_is_unsafe_or_no_pack_is_refused(tmp_path: Path, files: dict[str, bytes]) -> None:
    (tmp_path / "bad.zip").write_bytes(zip_of(files))
    out = tmp_path / "out"
    out.mkdir()
    with pytest.raises(InputError):
        packs.read_pack(tmp_path / "bad.zip", out)
    assert list(out.iterdir()) == []
    assert {path.name for path in tmp_path.iterdir()} == {"bad.zip", "out"}


def test_a_link_is_refused(tmp_path: Path) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("pack.toml", GOOD)
        link = zipfile.ZipInfo("link")
        link.external_attr = 0o120777 << 16
        archive.writestr(link, "/etc/passwd")
    (tmp_path / "bad.zip").write_bytes(out.getvalue())
    with pytest.raises(InputError, match="not a plain file"):
        packs.read_pack(tmp_path / "bad.zip", tmp_path)


def test_sizes_are_counted_and_not_believed(tmp_path: Path) -> None:
    """A small file that unpacks to a large one is stopped on the way, whatever its head says."""
    (tmp_path / "bomb.zip").write_bytes(zip_of({"zeros": bytes(50_000_000)}))
    assert (tmp_path / "bomb.zip").stat().st_size < 100_000
    with (
        opened_zip(tmp_path / "bomb.zip", ZipLimits(most_bytes=10_000_000)) as box,
        pytest.raises(TooLargeError),
    ):
        box.read("zeros", 100_000_000)


@given(st.binary(max_size=200))
def test_no_bytes_whatever_break_the_reader(data: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder, contextlib.suppress(InputError):
        path = Path(folder) / "noise.zip"
        path.write_bytes(data)
        packs.read_pack(path, Path(folder))


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.dictionaries(st.sampled_from(["a", "b", "c"]), TEXTS | st.integers(-(2**60), 2**60) | st.booleans()
       | st.floats(allow_nan=False, allow_infinity=False) | st.lists(TEXTS)), st.lists(st.fixed_dictionaries({"t": TEXTS}), min_size=1))  # fmt: skip  # noqa: E501
def test_toml_reads_back(table: dict[str, object], rows: list[dict[str, str]]) -> None:
    """Python's own reader of TOML 1.0 is the judge."""
    full = {**table, "rows": rows, "sub": table, "none": None}
    assert tomllib.loads(to_toml(full)) == {**table, "rows": rows, "sub": table}
