"""Back-ups as use cases, and the room that lets go while one is put in place; real files throughout."""

from dataclasses import replace
from datetime import date
from pathlib import Path
from threading import Thread
from types import SimpleNamespace

import pytest

from coach.bootstrap import make_services
from coach.errors import CancelledError, LockedError, StoreError
from coach.practice.events import StringTuned
from coach.practice.settings import Settings
from coach.sessions.keeping import FOLDER, back_up, backup_folder, fresh_backup, note_backup, usual_folder
from coach.sessions.ports import Place
from coach.sessions.practice_room import PracticeRoom
from coach.sessions.services import Services
from coach.store.log import SqliteLog
from tests.practised import PIECE, practised

DAY = date(2026, 3, 2)


def services_at(folder: Path, *places: Place) -> Services:
    return replace(make_services(folder), shelf=lambda: SimpleNamespace(places=lambda: places))


def test_files_go_where_people_look(tmp_path: Path) -> None:
    music, home = Place("Music", tmp_path / "m"), Place("Home", tmp_path)
    documents = Place("Documents", tmp_path / "d")
    assert usual_folder(services_at(tmp_path, music, home, documents)) == tmp_path / "d" / FOLDER
    assert usual_folder(services_at(tmp_path, music, home)) == tmp_path / FOLDER
    assert usual_folder(services_at(tmp_path / "data", music)).is_relative_to(tmp_path / "data")


def test_a_chosen_folder_counts_while_it_is_there(tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()
    services = services_at(tmp_path / "data", Place("Home", tmp_path))
    services.settings().save(Settings(backup_folder=str(stick)))
    assert backup_folder(services) == stick
    stick.rmdir()
    assert backup_folder(services) == tmp_path / FOLDER


def test_a_second_one_of_a_day_gets_a_number(tmp_path: Path) -> None:
    first = fresh_backup(tmp_path, DAY)
    assert first.name == "two-line-coach-2026-03-02.zip"
    first.touch()
    assert fresh_backup(tmp_path, DAY).name == "two-line-coach-2026-03-02-2.zip"


def restored(room: PracticeRoom, path: Path) -> Path | None:
    room.rest()
    try:
        return room.restore(path)
    finally:
        room.wake()


def test_the_open_room_shows_what_was_put_in_place_and_goes_back(tmp_path: Path) -> None:
    data = practised(tmp_path / "data")
    room = PracticeRoom(make_services(data))
    made = back_up(room.services, tmp_path / "b.zip")
    note_backup(room.journal, made)
    room.services.settings().save(Settings(minutes_a_day=45))
    room.journal.write(StringTuned(1, 3.0))
    later, old = room.journal.progress, room.journal
    before = restored(room, made.path)
    assert before is not None
    assert room.journal is not old
    assert (room.journal.progress.strings, room.journal.progress.backed_up_on) == ({}, None)
    assert room.services.current_settings() == Settings()
    assert room.services.library().find(PIECE).recording is not None
    room.journal.write(StringTuned(2, 1.0))
    again = restored(room, before)
    assert again is not None
    assert again != before
    assert room.journal.progress == later
    assert room.services.current_settings().minutes_a_day == 45
    room.close()
    SqliteLog.writing(data).close()


def test_nothing_is_written_while_the_room_rests(tmp_path: Path) -> None:
    room = PracticeRoom(make_services(practised(tmp_path / "data")))
    old = room.journal
    room.rest()
    assert room.resting
    with pytest.raises(StoreError, match="wait"):
        room.journal.write(StringTuned(1, 0.0))
    with pytest.raises(StoreError):
        old.write(StringTuned(1, 0.0))
    room.wake()
    assert room.journal.write(StringTuned(1, 0.0)).seq > 0
    room.close()


def test_another_copy_of_the_app_keeps_a_back_up_out(tmp_path: Path) -> None:
    data = practised(tmp_path / "data")
    room = PracticeRoom(make_services(data))
    back_up(room.services, tmp_path / "b.zip")
    other = SqliteLog.writing(data)
    with pytest.raises(LockedError):
        restored(room, tmp_path / "b.zip")
    other.close()


class Slowly:
    """The `Jobs` port: begins an end of the program in the middle, then stops the work."""

    def __init__(self, room: PracticeRoom) -> None:
        self.ending = Thread(target=room.close)
        self.waited = False

    def progress(self, share: float, what: str) -> None:
        if self.ending.ident is None:
            self.ending.start()
        else:
            self.ending.join(0.05)
            self.waited = self.ending.is_alive()
            raise CancelledError("Stopped.")


def test_the_program_does_not_end_in_the_middle(tmp_path: Path) -> None:
    data = practised(tmp_path / "data")
    room = PracticeRoom(make_services(data))
    back_up(room.services, tmp_path / "b.zip")
    room.rest()
    jobs = Slowly(room)
    with pytest.raises(CancelledError):
        room.restore(tmp_path / "b.zip", jobs)
    jobs.ending.join(10)
    assert jobs.waited
    assert not jobs.ending.is_alive()
