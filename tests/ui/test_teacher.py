# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The teacher's place: its states, a pack and a reply made with real taps, and the learner's side of both."""

import json
from contextlib import closing
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from coach.bootstrap import make_services
from coach.practice.events import PieceChosen
from coach.practice.settings import Settings
from coach.practice.stages import Stage
from coach.reports.json_file import report_json
from coach.reports.side_by_side import LearnerRow
from coach.reports.values import WhereReport
from coach.sessions.exchange import report_of
from coach.sessions.ports.exchange import Pack
from coach.sessions.practice_room import PracticeRoom
from coach.sessions.services import Services
from coach.sessions.teaching import make_pack
from coach.store.log import SqliteLog
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.choose import ChoosePresenter
from coach.ui.presenters.setup import SetupPresenter, SetupView
from coach.ui.presenters.teacher import TeacherPresenter
from coach.ui.presenters.teacher_view import Mode, TeacherView, learner_card
from coach.ui.presenters.view import Empty, Failed, Missing, Ready
from coach.ui.theme import PAPER, Look
from tests.practice_steps import START, begun, section_done
from tests.ui.checks import faults
from tests.ui.driver import RealWindow
from tests.ui.stage import Now, Went, a_context, went_to

SINCE = date(2026, 2, 20)


def a_teacher(folder: Path, *, watched: Path | None = None, sound: bool = False) -> Services:
    """A data folder with the piece “P” in hand, and the teacher's place switched on."""
    services = make_services(folder)
    settings = Settings(teacher=True, watched_folder=None if watched is None else str(watched))
    services.settings().save(settings)
    recording = None
    if sound:
        recording = folder / "p.wav"
        soundfile.write(recording, np.zeros(4000, np.float32), 8000)
    piece = services.library().add("P", recording).piece
    sha256 = None if recording is None else services.decoder().decode(recording).sha256
    with closing(SqliteLog.writing(folder)) as log:
        for event in (PieceChosen(piece, "P", sha256), *begun(piece)[1:], *section_done("A", piece=piece)):
            log.append(event, START)
    return services


def a_report(services: Services, path: Path, name: str, *, stuck: bool) -> None:
    with closing(services.read_log()) as log:
        report = report_of(services, log, name=name)
    where = WhereReport("B", Stage.BASS, SINCE, 6, 90.0, 30.0, 12, 3, stuck=stuck)
    path.write_bytes(report_json(replace(report, where=where)))


def opened(services: Services) -> TeacherPresenter:
    presenter = TeacherPresenter(services, Now(), InlineRunner(), Went())
    presenter.opened()
    return presenter


def view_of(presenter: TeacherPresenter) -> TeacherView:
    assert isinstance(presenter.view, Ready), presenter.view
    return presenter.view.value


def test_switched_off_it_shows_the_way_to_set_up(tmp_path: Path) -> None:
    presenter = opened(make_services(tmp_path))
    assert isinstance(presenter.view, Missing)
    presenter.act()
    assert went_to(presenter) == [("setup", {"card": "lessons"})]


def test_without_a_folder_one_is_asked_for_and_kept(tmp_path: Path) -> None:
    services = a_teacher(tmp_path / "data")
    presenter = opened(services)
    assert isinstance(presenter.view, Empty)
    presenter.act()
    assert view_of(presenter).folder == ""
    presenter.watch_folder(str(tmp_path / "nowhere"))
    assert isinstance(presenter.view, Failed)
    assert "choose another" in presenter.view.do
    presenter.act()
    (tmp_path / "reports").mkdir()
    presenter.watch_folder(f' "{tmp_path / "reports"}" ')
    assert services.current_settings().watched_folder == str(tmp_path / "reports")
    assert view_of(presenter).sentence.startswith("No report is in this folder yet")


def test_who_is_stuck_where_and_since_when(tmp_path: Path) -> None:
    watched = tmp_path / "reports"
    watched.mkdir()
    services = a_teacher(tmp_path / "data", watched=watched)
    a_report(services, watched / "amy.json", "Amy", stuck=False)
    a_report(services, watched / "carl.json", "Carl", stuck=True)
    (watched / "milk.json").write_text(json.dumps(["milk"]))
    view = view_of(opened(services))
    assert view.sentence == "2 learners: 1 is stuck."
    first, second = view.learners
    assert (first.name, first.stuck, second.name, second.stuck) == ("Carl", True, "Amy", False)
    assert first.where == "The bass of section B, “P”"
    assert first.since == "Stuck here since 20 February, 6 practice days"
    assert second.since == "Here since 20 February, 6 practice days"
    assert "% of the piece is good enough" in first.facts
    assert len(view.troubles) == 1


def test_a_learner_without_a_piece_has_a_card_too() -> None:
    row = LearnerRow(
        "new.json", "new", SINCE, None, None, None, None, None, 0, False, 0.0, None, None, None
    )  # fmt: skip
    card = learner_card(row)
    assert (card.where, card.since, card.can_reply) == ("No piece is in hand", "", False)
    assert card.facts == "Report of 20 February."


def test_an_empty_or_wrong_reply_is_told_and_nothing_is_written(tmp_path: Path) -> None:
    watched = tmp_path / "reports"
    watched.mkdir()
    services = a_teacher(tmp_path / "data", watched=watched)
    a_report(services, watched / "amy.json", "Amy", stuck=False)
    presenter = opened(services)
    presenter.begin_reply("amy.json")
    assert view_of(presenter).mode is Mode.REPLY
    presenter.act()
    assert "nothing in the reply" in view_of(presenter).wrong
    presenter.type_note("3, 9, C4, 1")
    presenter.act()
    assert "has no beat" in view_of(presenter).wrong
    assert not (tmp_path / "data" / "out" / "replies").exists()
    presenter.choose_line("bass")
    presenter.type_note("3, 2, C3, 1")
    presenter.choose_change("yes")
    form = view_of(presenter).reply
    assert form is not None
    assert (form.line, form.note, form.one_more_change, form.can_correct) == (
        "bass",
        "3, 2, C3, 1",
        True,
        True,
    )
    presenter.act()
    (reply,) = (tmp_path / "data" / "out" / "replies").iterdir()
    kept = json.loads(reply.read_bytes())
    assert (kept["corrected_line"], kept["extra_reopenings"], len(kept["corrected"])) == ("bass", 1, 1)
    assert str(reply) in view_of(presenter).said


# --- the learner's side -----------------------------------------------------------------------------------


def a_learner(folder: Path) -> tuple[PracticeRoom, SetupPresenter]:
    room = PracticeRoom(make_services(folder))
    presenter = SetupPresenter(room, Now(), InlineRunner(), Went(), "lessons")
    presenter.opened()
    return room, presenter


def card_of(presenter: SetupPresenter) -> SetupView:
    assert isinstance(presenter.view, Ready)
    return presenter.view.value


def a_pack_without(sound: Path, folder: Path) -> Path:
    """A pack that knows its recording only by its hash, in a folder without it."""
    folder.mkdir()
    services = make_services(folder.parent / "teacher")
    pack = Pack("Q", "Slowly.", services.decoder().decode(sound).sha256)
    services.exchange().write_pack(pack, folder / "q.zip")
    return folder / "q.zip"


def test_a_learner_opens_a_pack_with_their_own_recording(tmp_path: Path) -> None:
    sound, other = tmp_path / "q.wav", tmp_path / "other.wav"
    soundfile.write(sound, np.zeros(4000, np.float32), 8000)
    soundfile.write(other, np.ones(4000, np.float32) / 2, 8000)
    path = a_pack_without(sound, tmp_path / "post")
    room, presenter = a_learner(tmp_path / "learner")
    presenter.drop(str(path))
    assert "comes without its recording" in card_of(presenter).note
    assert card_of(presenter).lines[0].key == "recording"
    assert room.journal.progress.pieces == {}
    presenter.drop(str(other))
    assert "another recording" in card_of(presenter).note
    presenter.drop(str(sound))
    assert "Your teacher says: “Slowly.”" in card_of(presenter).note
    assert room.journal.progress.piece is not None
    assert card_of(presenter).lines[0].key == "file"
    room.close()


def test_a_pack_waits_and_other_files_are_refused(tmp_path: Path) -> None:
    path, second, other = tmp_path / "q.zip", tmp_path / "r.zip", tmp_path / "other.wav"
    exchange = make_services(tmp_path / "teacher").exchange()
    exchange.write_pack(Pack("Q"), path)
    exchange.write_pack(Pack("R"), second)
    room, presenter = a_learner(tmp_path / "learner")
    presenter.write("file", str(path))
    assert "is now your piece" in card_of(presenter).note
    presenter.write("file", str(second))
    assert "has to wait" in card_of(presenter).note
    presenter.write("file", str(path))
    assert "is your piece already" in card_of(presenter).note
    assert len(room.journal.progress.pieces) == 1
    presenter.write("file", str(other))
    assert "neither a pack (.zip) nor a reply (.json)" in card_of(presenter).note
    presenter.write("name", "  Amy ")
    assert room.services.current_settings().name == "Amy"
    room.close()


class Hands:
    """Shows pages in the window, types and taps, scrolling first to what is meant."""

    def __init__(self, window: RealWindow) -> None:
        self.window = window

    def show(self, page: Any) -> None:
        self.page = self.window.show(page, "setup")

    def to(self, widget: Any) -> None:
        if any(each is widget for each in self.page.body.walk(restrict=True)):
            self.page.scroll.scroll_to(widget, animate=False)
            self.window.frames(4)
        self.window.tap(widget)

    def types(self, index: int, text: str, *then: str) -> None:
        from coach.ui.widgets.field import Entry

        entry = [widget for widget in self.window.walk() if isinstance(widget, Entry)][index]
        self.to(entry)
        entry.insert_text(text)
        entry.focus = False
        self.window.frames(4)
        for words in then:
            self.taps(words)

    def taps(self, words: str) -> None:
        self.to(self.window.button(words))


def test_a_pack_brought_to_the_choice_of_a_piece_is_opened_in_set_up(tmp_path: Path) -> None:
    path = tmp_path / "q.zip"
    make_services(tmp_path / "teacher").exchange().write_pack(Pack("Q"), path)
    room = PracticeRoom(make_services(tmp_path / "learner"))
    choosing = ChoosePresenter(room, Now(), InlineRunner(), Went())
    choosing.bring(f'"{path}"')
    ((word, about),) = went_to(choosing)
    assert (word, about["card"]) == ("setup", "lessons")
    presenter = SetupPresenter(room, Now(), InlineRunner(), Went(), about["card"], about["file"])
    presenter.opened()
    assert "“Q” is now your piece" in card_of(presenter).note
    assert card_of(presenter).good
    room.close()


@pytest.mark.window
def test_a_pack_and_a_reply_go_out_by_taps_and_are_opened_by_the_learner(
    window: RealWindow, tmp_path: Path
) -> None:
    from coach.ui.screens.setup.screen import SetupPage
    from coach.ui.screens.teacher.screen import TeacherPage

    watched = tmp_path / "reports"
    watched.mkdir()
    services = a_teacher(tmp_path / "teacher", watched=watched, sound=True)
    hands = Hands(window)

    # The teacher makes a pack with the recording in it.
    hands.show(TeacherPage(a_context(services=services), opened(services)))
    hands.taps("Make a pack")
    hands.types(0, "Slowly.", "yes, I may hand it on", "Make the pack")
    pack = tmp_path / "teacher" / "out" / "packs" / "P.zip"
    assert str(pack) in window.words()

    # The learner opens it, and shares a report.
    room, presenter = a_learner(tmp_path / "learner")
    hands.show(SetupPage(a_context(), presenter))
    hands.types(0, str(pack), "Open it")
    assert "“P” is now your piece" in window.words()
    a_report(room.services, watched / "amy.json", "Amy", stuck=True)

    # The teacher sees who is stuck, and answers.
    hands.show(TeacherPage(a_context(services=services), opened(services)))
    assert "1 learner: 1 is stuck." in window.words()
    hands.taps("Answer Amy")
    hands.types(0, "Only A for now.", "without section B", "yes, once more", "Write the reply")
    (reply,) = (tmp_path / "teacher" / "out" / "replies").iterdir()
    assert str(reply) in window.words()

    # The learner opens the answer.
    hands.show(SetupPage(a_context(), presenter))
    hands.types(0, str(reply), "Open it")
    assert "Your teacher says: “Only A for now.”" in window.words()
    piece = room.journal.progress.piece
    assert piece is not None
    assert ([each.name for each in piece.sections], piece.most_reopenings) == (["A"], 3)
    room.close()


def test_a_pack_of_a_teacher_goes_without_sound_unless_told(tmp_path: Path) -> None:
    services = a_teacher(tmp_path / "teacher", sound=True)
    presenter = opened(services)
    presenter.act()  # from the notice to the learners
    presenter.act()
    form = view_of(presenter).pack
    assert form is not None
    assert (form.has_recording, form.with_recording) == (True, False)
    presenter.act()
    assert "The pack is here" in view_of(presenter).said
    with closing(services.read_log()) as log:
        piece = next(iter(log.progress().pieces))
    path = make_pack(services, piece, word="", with_recording=False)
    unpacked = tmp_path / "unpacked"
    unpacked.mkdir()
    assert services.exchange().read_pack(path, unpacked).pack.recording is None


@pytest.mark.window
def test_nothing_of_the_forms_is_clipped_on_a_small_screen_with_large_text(
    window: RealWindow, tmp_path: Path
) -> None:
    from coach.ui.screens.teacher.screen import TeacherPage

    watched = tmp_path / "reports"
    watched.mkdir()
    services = a_teacher(tmp_path / "teacher", watched=watched, sound=True)
    a_report(services, watched / "amy.json", "Amy", stuck=True)
    window.resize(800, 480)
    presenter = opened(services)
    window.show(TeacherPage(a_context(Look(PAPER, 1.5), services=services), presenter), "setup")
    assert not faults(window)
    presenter.act()
    window.frames(6)
    assert not faults(window)
    presenter.begin_reply("amy.json")
    presenter.act()
    window.frames(6)
    assert "nothing in the reply" in window.words()
    assert not faults(window)
