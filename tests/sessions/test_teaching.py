"""The teacher's files: a round trip from pack to report to reply between two data folders."""

import hashlib
import json
from contextlib import closing
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile

from coach.bootstrap import make_services
from coach.errors import InputError, ScopeError, StoreError
from coach.practice.events import Event, PieceChosen
from coach.reports.json_file import report_json
from coach.reports.reply_file import read_reply
from coach.sessions.exchange import open_pack, open_reply, report_of
from coach.sessions.journal import Journal
from coach.sessions.services import Services
from coach.sessions.teaching import (
    Answering,
    correction_of,
    learners_in,
    make_pack,
    note_at,
    same_piece,
    write_reply,
)
from coach.store.log import SqliteLog
from tests.practice_steps import START, begun, notes, progress_of, section_done

TODAY = date(2026, 3, 9)


def a_teacher(tmp_path: Path) -> Services:
    """A data folder with one piece, its recording and one finished section."""
    sound = tmp_path / "lark.wav"
    soundfile.write(sound, np.zeros(4000, np.float32), 8000)
    services = make_services(tmp_path / "teacher")
    piece = services.library().add("Lark", sound).piece
    sha256 = hashlib.sha256(sound.read_bytes()).hexdigest()

    def named(event: Event) -> Event:
        if isinstance(event, PieceChosen):
            return replace(event, title="Lark", recording_sha256=sha256)
        return event

    with closing(SqliteLog.writing(tmp_path / "teacher")) as log:
        for event in (*map(named, begun(piece)), *section_done("A", piece=piece)):
            log.append(event, START)
    return services


def test_a_pack_goes_out_a_report_comes_back_and_a_reply_is_opened(tmp_path: Path) -> None:
    teacher = a_teacher(tmp_path)
    with closing(teacher.read_log()) as log:
        theirs = next(iter(log.progress().pieces))
    path = make_pack(teacher, theirs, word=" Slowly. ", with_recording=True)
    assert path == tmp_path / "teacher" / "out" / "packs" / "Lark.zip"

    learner = make_services(tmp_path / "learner")
    watched = tmp_path / "watched"
    watched.mkdir()
    with closing(Journal(learner.log(), learner.clock)) as journal:
        assert open_pack(learner, journal, path).word == "Slowly."
        with closing(learner.read_log()) as log:
            (watched / "amy.json").write_bytes(report_json(report_of(learner, log, name="Amy")))
        (watched / "shopping.json").write_text(json.dumps({"milk": 1}))
        found = learners_in(teacher, watched)
        (amy,) = found.learners
        assert (amy.row.name, amy.row.title, amy.row.section) == ("Amy", "Lark", "A")
        assert amy.untouched == ("B",)  # neither is begun, but the first has to stay
        assert len(found.troubles) == 1
        assert "shopping.json" in found.troubles[0]

        answering = Answering("Well done.", without="B", one_more_change=True)
        reply = write_reply(teacher, amy.row, answering, TODAY)
        assert reply == tmp_path / "teacher" / "out" / "replies" / "reply-Amy-2026-03-09.json"
        open_reply(journal, reply)
        piece = journal.progress.piece
        assert piece is not None
        assert (piece.words, [each.name for each in piece.sections]) == (("Well done.",), ["A"])
        assert piece.most_reopenings == 3


def test_only_the_newest_report_of_a_learner_counts(tmp_path: Path) -> None:
    services = make_services(tmp_path / "teacher")
    with closing(services.read_log()) as log:
        report = replace(report_of(services, log, name="Amy"), made_on=TODAY)
    older = replace(report, made_on=date(2026, 1, 1))
    for name, each in (("a.json", report), ("b.json", older), ("c.json", replace(report, name=""))):
        (tmp_path / name).write_bytes(report_json(each))
    found = learners_in(services, tmp_path)
    assert sorted(each.row.file for each in found.learners) == ["a.json", "c.json"]
    with pytest.raises(StoreError, match="choose another"):
        learners_in(services, tmp_path / "nowhere")


def test_a_corrected_note_is_read_and_laid_on_the_ruler() -> None:
    piece = progress_of(*begun()).piece
    assert piece is not None
    # In 4/4 bar 3 begins after eight quarters; F#4 is MIDI note 66 (MIDI 1.0).
    note = note_at(piece, correction_of("3, 2, F#4, 1/2"))
    assert (note.onset, note.duration, note.midi) == (Fraction(9), Fraction(1, 2), 66)
    upbeat = replace(piece, grid=replace(piece.grid, pickup=Fraction(1)))  # type: ignore[type-var]
    assert note_at(upbeat, correction_of("1,1,C4,1")).onset == 1
    assert note_at(upbeat, correction_of("0,1,C4,1")).onset == 0
    for wrong in (
        "",
        "3, 2, F#4",
        "3, 2, H4, 1",
        "x, 1, C4, 1",
        "1, 0, C4, 1",
        "1, 1, C4, 0",
        "-1, 1, C4, 1",
    ):
        with pytest.raises(InputError):
            correction_of(wrong)
    for outside in ("9, 1, C4, 1", "1, 5, C4, 1"):
        with pytest.raises(ScopeError, match="has no beat"):
            note_at(piece, correction_of(outside))


def test_a_corrected_note_arrives_in_the_learners_line(tmp_path: Path) -> None:
    services = make_services(tmp_path)
    with closing(SqliteLog.writing(tmp_path)) as log:
        for event in (*begun(), *section_done("A")):
            log.append(event, START)
    with closing(services.read_log()) as log:
        (tmp_path / "watched").mkdir()
        (tmp_path / "watched" / "a.json").write_bytes(report_json(report_of(services, log)))
        piece = same_piece(log.progress(), "P")
    assert piece is not None
    assert same_piece(progress_of(), "P") is None
    (learner,) = learners_in(services, tmp_path / "watched").learners
    note = note_at(piece, correction_of("1, 2, E4, 1"))
    path = write_reply(services, learner.row, Answering(note=note), TODAY)
    assert read_reply(path.read_bytes(), path.name).corrected_line == "melody"
    with closing(Journal(services.log(), services.clock)) as journal:
        open_reply(journal, path)
        section = journal.progress.pieces["p"].sections[0]
        assert [each.midi for each in section.melody.notes] == [60, 64, 64]
        assert section.bass.notes == notes(0, 48)


def test_a_reply_says_something_and_is_about_a_piece(tmp_path: Path) -> None:
    services = make_services(tmp_path)
    with closing(services.read_log()) as log:
        (tmp_path / "new.json").write_bytes(report_json(report_of(services, log)))
    (new,) = learners_in(services, tmp_path).learners
    with pytest.raises(ScopeError, match="no piece in hand"):
        write_reply(services, new.row, Answering("Hello"), TODAY)
    with pytest.raises(ScopeError, match="nothing in the reply"):
        write_reply(services, replace(new.row, piece="p"), Answering(" "), TODAY)
