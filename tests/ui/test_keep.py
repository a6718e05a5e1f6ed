"""Keeping it safe: real back-ups of a real folder; one put in place, and back; what is said of it all."""

from contextlib import closing
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from coach.errors import CancelledError
from coach.practice.events import BackupMade, StringTuned, TimeSpent
from coach.practice.progress import Progress
from coach.sessions.keeping import back_up
from coach.sessions.practice_room import PracticeRoom
from coach.store.log import SqliteLog
from coach.ui.jobs import InlineRunner, Job
from coach.ui.presenters.keep import NOTHING_BEFORE, STOPPED, KeepPresenter, KeepView
from coach.ui.presenters.keep_words import age_sentence, before_words, gentle_word
from coach.ui.presenters.view import Ready, Working
from tests.practice_steps import START, progress_of
from tests.practised import practised
from tests.ui.keep_room import LARK, services_in
from tests.ui.stage import Now, Went, went_to


def opened(room: PracticeRoom, **about: str) -> KeepPresenter:
    presenter = KeepPresenter(room, Now(), InlineRunner(), Went(), **about)
    presenter.opened()
    return presenter


def view_of(presenter: KeepPresenter) -> KeepView:
    assert isinstance(presenter.view, Ready), presenter.view
    return presenter.view.value


def went(presenter: KeepPresenter) -> list[tuple[str, dict[str, str]]]:
    return went_to(presenter)


@pytest.fixture
def room(tmp_path: Path) -> Any:
    room = PracticeRoom(services_in(practised(tmp_path / "data")))
    yield room
    room.close()


def progress_at(folder: Path) -> Progress:
    with closing(SqliteLog.reading(folder)) as log:
        return log.progress()


# --- back-up ----------------------------------------------------------------------------------------------


def test_one_tap_writes_one_new_file_and_says_where(room: PracticeRoom, tmp_path: Path) -> None:
    presenter = opened(room)
    assert view_of(presenter).sentence == "Nothing is backed up yet."
    for name in ("two-line-coach-2026-03-20.zip", "two-line-coach-2026-03-20-2.zip"):
        presenter.act()
        path = tmp_path / "documents" / "Two-Line Coach" / name
        assert path.is_file()
        assert str(path) in view_of(presenter).said
        assert "0.1 MB" in view_of(presenter).said
        assert view_of(presenter).good
    assert view_of(presenter).sentence == "Your last back-up is of today."
    assert [type(each.event) for each in room.services.read_log().events()].count(BackupMade) == 2


def test_how_old_the_last_one_is() -> None:
    progress = progress_of(TimeSpent("ear", 60.0), BackupMade("00"))
    day = START.date()
    assert age_sentence(progress, day + timedelta(days=1)) == "Your last back-up is of 2 March, 1 day ago."
    assert age_sentence(Progress(), day) == "There is nothing here to back up yet."
    assert gentle_word(progress, day + timedelta(days=90)) == ""
    never = progress_of(TimeSpent("ear", 60.0))
    assert gentle_word(never, day + timedelta(days=31)).startswith("Nothing of this is backed up yet")
    later = replace(never, backed_up_on=day - timedelta(days=2))
    assert gentle_word(later, day + timedelta(days=43)) == (
        "Your last back-up is 45 days old: “Keep it safe” makes one with one tap."
    )


def test_another_folder_is_kept_and_left_again(room: PracticeRoom, tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()
    presenter = opened(room, folder=str(stick))
    assert (view_of(presenter).folder, view_of(presenter).usual) == (str(stick), False)
    presenter.find_folder()
    assert went(presenter) == [("files", {"want": "backup_folder", "folder": str(stick)})]
    presenter.act()
    assert list(stick.glob("*.zip"))
    presenter.keep_folder(None)
    assert view_of(presenter).usual


def test_a_folder_that_takes_nothing_is_told_in_one_sentence(room: PracticeRoom, tmp_path: Path) -> None:
    (tmp_path / "documents" / "Two-Line Coach").write_text("a file in the way")
    presenter = opened(room)
    presenter.act()
    view = view_of(presenter)
    assert "cannot be written" in view.said
    assert (view.good, view.action) == (False, "Back up now")
    assert view.said.count(". ") == 0


class Held:
    """A job runner that lets the test say when the work is done, or that it was stopped."""

    def __init__(self) -> None:
        self.stopped = False

    def start(self, work: Any, *, done: Any, failed: Any, progress: Any = None) -> Job:
        self.work, self.done, self.failed, self.progress = work, done, failed, progress
        return self

    def cancel(self) -> None:
        self.stopped = True


def test_a_long_one_tells_how_far_it_is_and_is_stopped(room: PracticeRoom) -> None:
    jobs = Held()
    presenter = KeepPresenter(room, Now(), jobs, Went())
    presenter.opened()
    presenter.act()
    jobs.progress(0.4, "Backing up")
    assert presenter.view == Working("Backing up", 0.4)
    presenter.cancel()
    assert jobs.stopped
    jobs.failed(CancelledError("Stopped."))
    assert view_of(presenter).said == STOPPED
    presenter.act()
    jobs.stopped = False
    presenter.closed()
    assert jobs.stopped


def test_a_back_up_counts_even_while_another_copy_has_the_log(tmp_path: Path) -> None:
    data = practised(tmp_path / "data")
    other = SqliteLog.writing(data)
    presenter = opened(PracticeRoom(services_in(data)))
    presenter.act()
    other.close()
    assert "Everything is in one file" in view_of(presenter).said
    assert "could not be noted" in view_of(presenter).said


# --- putting one in place ---------------------------------------------------------------------------------


def test_it_says_what_is_in_it_and_asks_once(room: PracticeRoom, tmp_path: Path) -> None:
    made = back_up(room.services, tmp_path / "b.zip")
    room.journal.write(StringTuned(1, 0.0))
    was = room.journal.progress
    presenter = opened(room, file=str(made.path))
    asking = view_of(presenter).asking
    assert asking is not None
    assert "“b.zip”, made on" in asking.file
    assert asking.holds.startswith(f"It holds {LARK} and {was.seq - 1} entries, the last of 2 March, 18:00")
    assert asking.here.startswith(f"Here now: {LARK} and {was.seq} entries")
    assert "you can go back" in asking.here
    presenter.act_second()
    assert view_of(presenter).asking is None
    assert room.journal.progress == was


def test_it_is_put_in_place_and_back_again(room: PracticeRoom, tmp_path: Path) -> None:
    made = back_up(room.services, tmp_path / "b.zip")
    was = room.journal.progress
    room.journal.write(StringTuned(1, 0.0))
    later = room.journal.progress
    presenter = opened(room, file=str(made.path))
    presenter.act()
    ((screen, about),) = went(presenter)
    assert screen == "restart"
    assert not room.resting
    assert room.journal.progress == was
    after = opened(room, **about)
    view = view_of(after)
    assert about["restored"] in view.said
    assert view.go_back == about["restored"]
    assert view.before == ()
    after.put_back(view.go_back)
    assert room.journal.progress == later
    again = view_of(opened(room, **went(after)[0][1]))
    assert again.go_back != view.go_back
    assert [path for path, _ in again.before] == [view.go_back]


def test_on_a_new_device_a_back_up_is_looked_for_first(tmp_path: Path) -> None:
    back_up(services_in(practised(tmp_path / "data")), tmp_path / "b.zip")
    room = PracticeRoom(services_in(tmp_path / "new"))
    presenter = opened(room)
    assert view_of(presenter).sentence == "There is nothing here to back up yet."
    presenter.act()
    assert went(presenter) == [("files", {"want": "backup"})]
    presenter.look(str(tmp_path / "b.zip"))
    asking = view_of(presenter).asking
    assert asking is not None
    assert "nothing here yet" in asking.here
    presenter.act()
    assert went(presenter)[1] == ("restart", {"restored": NOTHING_BEFORE})
    view = view_of(opened(room, restored=NOTHING_BEFORE))
    assert (view.sentence, view.said, view.go_back) == ("The back-up is in its place.", "", "")
    assert room.journal.progress.seq
    room.close()


@pytest.mark.parametrize("damage", ["no zip", "cut", "taken", "later"])
def test_a_damaged_file_gives_one_sentence_and_changes_nothing(
    room: PracticeRoom, tmp_path: Path, damage: str
) -> None:
    path = back_up(room.services, tmp_path / "b.zip").path
    data = path.read_bytes()
    was = progress_at(tmp_path / "data")
    presenter = opened(room)
    if damage == "later":
        presenter.look(str(path))
        at = data.index(b"pieces/") + 60  # within the recording or its header
        path.write_bytes(data[:at] + bytes([data[at] ^ 255]) + data[at + 1 :])
        presenter.act()
    else:
        if damage != "taken":
            path.write_bytes(b"none" if damage == "no zip" else data[: len(data) // 2])
        else:
            path.unlink()
        presenter.look(str(path))
    view = view_of(presenter)
    assert (view.asking, view.good) == (None, False)
    assert view.said.endswith(".")
    assert view.said.count(". ") == 0
    assert not room.resting
    assert room.journal.progress == was


def test_a_damaged_log_gives_way_to_a_back_up(tmp_path: Path) -> None:
    data = practised(tmp_path / "data")
    services = services_in(data)
    back_up(services, tmp_path / "b.zip")
    was = progress_at(data)
    for each in data.glob("log.sqlite3*"):
        each.unlink()
    (data / "log.sqlite3").write_bytes(b"junk" * 1000)
    room = PracticeRoom(services)
    presenter = opened(room)
    view = view_of(presenter)
    assert view.sentence == "What is here cannot be read: put a back-up in its place."
    assert (view.good, view.action) == (False, "Look for a back-up")
    presenter.look(str(tmp_path / "b.zip"))
    asking = view_of(presenter).asking
    assert asking is not None
    assert "whose log cannot be read" in asking.here
    presenter.act()
    assert room.journal.progress == was
    room.close()


def test_states_of_before_are_named_by_their_day() -> None:
    path = Path("before-restore-20260504-123000-2.zip")
    assert before_words(path, date(2026, 6, 1)) == "What was here before 4 May, 12:30"
    for name in ("before-restore-20269999-123000.zip", "other.zip"):
        assert before_words(Path(name), date(2026, 6, 1)) == name
