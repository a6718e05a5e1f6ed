import hashlib
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile

from coach.bootstrap import make_services
from coach.errors import InputError, ScopeError, StoreError
from coach.practice.events import (
    Event,
    NoteRecord,
    PackOpened,
    PieceChosen,
    PieceSetAside,
    ReplyOpened,
    TakeKept,
)
from coach.reports.json_file import report_json
from coach.reports.reply_file import read_reply, reply_json
from coach.sessions.exchange import (
    open_pack,
    open_reply,
    pack_of,
    report_of,
    shared,
    take_to_share,
)
from coach.sessions.journal import Journal
from coach.sessions.late_recording import add_recording, lacks_recording
from coach.sessions.piece.reference import REFERENCE
from coach.sessions.services import Services
from coach.store.log import SqliteLog
from tests.practice_steps import START, begun, section_done


@pytest.fixture
def teacher(tmp_path: Path) -> Services:
    """A data folder with one piece, its recording and one finished section."""
    sound = tmp_path / "lark.wav"
    soundfile.write(sound, np.zeros(4000, np.float32), 8000)
    services = make_services(tmp_path / "teacher")
    piece = services.library().add("Lark", sound).piece
    sha256 = hashlib.sha256(sound.read_bytes()).hexdigest()
    fill(
        tmp_path / "teacher",
        *(named(event, sha256) for event in begun(piece)),
        *section_done("A", piece=piece),
    )
    return services


def named(event: Event, sha256: str) -> Event:
    return replace(event, title="Lark", recording_sha256=sha256) if isinstance(event, PieceChosen) else event


def fill(folder: Path, *events: Event) -> None:
    with closing(SqliteLog.writing(folder)) as log:
        for event in events:
            log.append(event, START)


def learner(tmp_path: Path) -> tuple[Services, Journal]:
    services = make_services(tmp_path / "learner")
    return services, Journal(services.log(), services.clock)


def packed(teacher: Services, tmp_path: Path, *, with_recording: bool = False) -> Path:
    path = tmp_path / "lark.zip"
    pack = pack_of(teacher, "lark", word="Slowly.", with_recording=with_recording)
    teacher.exchange().write_pack(pack, path)
    return path


def test_a_pack_becomes_the_piece_in_hand(teacher: Services, tmp_path: Path) -> None:
    services, journal = learner(tmp_path)
    opened = open_pack(services, journal, packed(teacher, tmp_path, with_recording=True))
    assert (opened.title, opened.word, opened.in_hand, opened.needs_recording) == (
        "Lark",
        "Slowly.",
        True,
        False,
    )
    piece = journal.progress.piece
    assert piece is not None
    assert [section.name for section in piece.sections] == ["A", "B"]
    assert all(not section.melody.notes for section in piece.sections)
    kept = services.library().find(opened.piece)
    assert kept.recording is not None
    assert services.library().read(opened.piece, REFERENCE) is not None
    journal.close()


def test_a_recording_is_matched_by_its_hash(teacher: Services, tmp_path: Path) -> None:
    services, journal = learner(tmp_path)
    path = packed(teacher, tmp_path)
    other = tmp_path / "other.wav"
    soundfile.write(other, np.ones(4000, np.float32) / 2, 8000)
    with pytest.raises(InputError, match="another recording"):
        open_pack(services, journal, path, other)
    assert services.library().pieces() == ()
    opened = open_pack(services, journal, path, tmp_path / "lark.wav")
    assert not opened.needs_recording
    journal.close()


def away(packed: Path) -> Path:
    """The pack in a folder of its own, away from any recording."""
    (packed.parent / "post").mkdir()
    return packed.rename(packed.parent / "post" / packed.name)


def test_without_the_recording_it_is_asked_for(teacher: Services, tmp_path: Path) -> None:
    services, journal = learner(tmp_path)
    assert open_pack(services, journal, away(packed(teacher, tmp_path))).needs_recording
    journal.close()


@pytest.mark.parametrize("ending", ["WAV", "mp4", "webm"])
def test_the_recording_may_come_later(teacher: Services, tmp_path: Path, ending: str) -> None:
    services, journal = learner(tmp_path)
    path = away(packed(teacher, tmp_path))
    first = open_pack(services, journal, path)
    soundfile.write(path.parent / "another.wav", np.ones(4000, np.float32) / 2, 8000)
    assert open_pack(services, journal, path).needs_recording
    (path.parent / f"Lark, my own copy.{ending}").write_bytes((tmp_path / "lark.wav").read_bytes())
    again = open_pack(services, journal, path)
    assert (again.piece, again.in_hand, again.needs_recording) == (first.piece, True, False)
    assert [each.piece for each in services.library().pieces()] == [first.piece]
    kept = services.library().find(first.piece).recording
    assert kept is not None
    assert kept.read_bytes() == (tmp_path / "lark.wav").read_bytes()
    journal.close()


def test_a_piece_gets_the_very_recording_that_it_lacks(teacher: Services, tmp_path: Path) -> None:
    services, journal = learner(tmp_path)
    open_pack(services, journal, away(packed(teacher, tmp_path)))
    piece = journal.progress.piece
    assert piece is not None
    assert lacks_recording(services, piece)
    other = tmp_path / "other.wav"
    soundfile.write(other, np.ones(4000, np.float32) / 2, 8000)
    with pytest.raises(InputError, match="the very same file"):
        add_recording(services, piece, other)
    with pytest.raises(InputError, match="cannot be read"):
        add_recording(services, piece, tmp_path / "none.wav")
    assert lacks_recording(services, piece)
    add_recording(services, piece, tmp_path / "lark.wav")
    assert not lacks_recording(services, piece)
    with pytest.raises(ScopeError, match="needs no recording"):
        add_recording(services, piece, tmp_path / "lark.wav")
    journal.close()


def test_the_same_pack_again_is_the_same_piece(teacher: Services, tmp_path: Path) -> None:
    services, journal = learner(tmp_path)
    path = packed(teacher, tmp_path)
    first, second = open_pack(services, journal, path), open_pack(services, journal, path)
    assert first.piece == second.piece == journal.progress.in_hand
    assert list(journal.progress.packs) == [first.piece]
    journal.write(PieceSetAside(first.piece, "Another first."))
    assert open_pack(services, journal, path).in_hand
    assert journal.progress.in_hand == first.piece
    journal.close()


def test_another_pack_waits_while_a_piece_is_in_hand(teacher: Services, tmp_path: Path) -> None:
    services, journal = learner(tmp_path)
    path = packed(teacher, tmp_path)
    other = tmp_path / "other.zip"
    teacher.exchange().write_pack(replace(pack_of(teacher, "lark"), title="Wren"), other)
    first, second = open_pack(services, journal, path), open_pack(services, journal, other)
    assert (first.in_hand, second.in_hand) == (True, False)
    assert journal.progress.in_hand == first.piece
    journal.write(PieceSetAside(first.piece, "The other one first."))
    waited = open_pack(services, journal, other)
    assert (waited.piece, waited.in_hand) == (second.piece, True)
    assert journal.progress.piece is not None
    assert [section.name for section in journal.progress.piece.sections] == ["A", "B"]
    journal.close()


def test_more_bars_than_fit_are_left_out(teacher: Services, tmp_path: Path) -> None:
    services, journal = learner(tmp_path)
    pack = pack_of(teacher, "Lark")
    long = tuple(
        replace(pack.sections[0], name=name, onset=Fraction(32 * i), end=Fraction(32 * (i + 1)))
        for i, name in enumerate("ABC")
    )
    path = tmp_path / "long.zip"
    teacher.exchange().write_pack(replace(pack, sections=long), path)
    opened = open_pack(services, journal, path)
    assert opened.left_out == ("C",)
    assert journal.progress.piece is not None
    assert journal.progress.piece.bars == 16
    journal.close()


def test_a_piece_that_is_not_there_is_named(teacher: Services) -> None:
    with pytest.raises(StoreError, match="001-lark"):
        pack_of(teacher, "Robin")


def test_a_reply_goes_to_the_piece_it_is_about(teacher: Services, tmp_path: Path) -> None:
    reply = ReplyOpened(
        "001-lark", "Lower!", (NoteRecord(Fraction(0), Fraction(1), 59),), "melody", ("B",), 1
    )
    assert read_reply(reply_json(reply), "r.json") == reply
    path = tmp_path / "reply.json"
    path.write_bytes(reply_json(reply))
    with closing(Journal(teacher.log(), teacher.clock)) as journal:
        assert open_reply(journal, path) == reply
        piece = journal.progress.pieces["001-lark"]
        assert piece.words == ("Lower!",)
        assert piece.sections[0].melody.notes[0].midi == 59
    services, other = learner(tmp_path)
    with pytest.raises(ScopeError, match="not on this device"):
        open_reply(other, path)
    other.close()
    del services


@pytest.mark.parametrize(
    "data", [b"", b"[]", b"{}", b'{"kind":"reply","format":2}', b'{"kind":"x","format":1}']
)
def test_what_is_no_reply_is_refused(data: bytes) -> None:
    with pytest.raises(InputError, match="new one"):
        read_reply(data, "r.json")


def test_reports_lie_side_by_side_in_the_watched_folder(teacher: Services, tmp_path: Path) -> None:
    folder = tmp_path / "reports"
    folder.mkdir()
    with closing(teacher.read_log()) as log:
        report = report_of(teacher, log, name="Ann")
        part = report_of(teacher, log, since=date(2030, 1, 1))
    assert part.days == ()
    (folder / "ann.json").write_bytes(report_json(report))
    (folder / "broken.JSON").write_bytes(b"{")
    (folder / "notes.txt").write_bytes(b"")
    found = teacher.exchange().learners(folder)
    assert [(each.file, each.report is not None) for each in found] == [
        ("ann.json", True),
        ("broken.JSON", False),
    ]
    assert found[0].report == report
    assert found[0].report.where is not None
    assert found[0].report.where.section == "B"
    assert found[1].trouble is not None
    with pytest.raises(StoreError, match="choose another one"):
        teacher.exchange().learners(tmp_path / "none")


def test_a_take_is_given_only_when_asked_for(teacher: Services) -> None:
    with closing(Journal(teacher.log(), teacher.clock)) as journal:
        with pytest.raises(ScopeError, match="no take"):
            take_to_share(teacher, journal.progress)
        for event in section_done("B", 16, piece="001-lark"):
            journal.write(event)
        teacher.library().write("001-lark", "takes/1.flac", b"sound")
        journal.write(TakeKept("001-lark", "takes/1.flac", 20.0))
        assert take_to_share(teacher, journal.progress) == b"sound"
        before = datetime.now(UTC)
        shared(journal, None, with_takes=True)
        assert journal.progress.reported_at is not None
        assert journal.progress.reported_at >= before


def test_the_pack_is_noted_with_its_hash(teacher: Services, tmp_path: Path) -> None:
    services, journal = learner(tmp_path)
    path = packed(teacher, tmp_path)
    opened = open_pack(services, journal, path)
    journal.close()
    with closing(services.read_log()) as log:
        first = next(log.events()).event
    assert first == PackOpened(opened.piece, "Lark", hashlib.sha256(path.read_bytes()).hexdigest())
