"""The play desk: what is graded is logged; thumb, tune and pinches are graded for themselves."""

from pathlib import Path
from random import Random

import numpy as np
import pytest

from coach.bootstrap import make_services
from coach.notation import LineKind
from coach.pieces.played import Result
from coach.practice.events import PlayedThrough
from coach.sessions.journal import Journal
from coach.sessions.piece.neck_desk import Hand
from coach.sessions.piece.play_desk import Part, PlayDesk
from tests.fakes import FakeClock, MemoryLog
from tests.in_hand import take_in_hand
from tests.sheet_pieces import fingered_piece
from tests.taken import RATE_HZ, performed

PIECE = fingered_piece()[0]
TEMPO = 72.0


@pytest.fixture
def log() -> MemoryLog:
    return MemoryLog()


@pytest.fixture
def desk(tmp_path: Path, log: MemoryLog) -> PlayDesk:
    services = make_services(tmp_path)
    journal = Journal(log, FakeClock())
    take_in_hand(journal, PIECE)
    return PlayDesk(services, journal, Hand.of(services.current_settings()), "A")


def logged(log: MemoryLog) -> list[PlayedThrough]:
    return [each.event for each in log.logged if isinstance(each.event, PlayedThrough)]


def test_a_graded_take_is_logged_with_its_share_and_hardest_bar(desk: PlayDesk, log: MemoryLog) -> None:
    wanted = desk.arrangement
    struck = {note.onset for note in wanted.bass}
    index, gone = next(each for each in enumerate(wanted.melody) if each[1].onset not in struck)
    take = performed(wanted, TEMPO, Random(1), slips={(LineKind.MELODY, index): None})
    done = desk.grade(take.samples, RATE_HZ)
    assert [(n.onset, n.result) for n in done.notes if n.result is not Result.RIGHT] == [
        (gone.onset, Result.MISSING)
    ]
    (event,) = logged(log)
    assert (event.section, event.part) == ("A", "both")
    assert event.tempo_bpm == pytest.approx(TEMPO, rel=0.01)
    assert event.right_share == pytest.approx(1 - 1 / len(done.notes), abs=1e-4)
    assert event.hardest_bar == wanted.bar_of(gone.onset)


def test_each_part_is_graded_by_its_own_notes(desk: PlayDesk) -> None:
    take = performed(desk.arrangement, TEMPO, Random(2)).samples
    thumb = desk.grade(take, RATE_HZ, TEMPO, part=Part.THUMB)
    assert {note.line for note in thumb.notes} == {LineKind.BASS}
    pinches = desk.grade(take, RATE_HZ, TEMPO, part=Part.PINCHES)
    onsets = [{n.onset for n in pinches.notes if n.line is kind} for kind in LineKind]
    assert onsets[0] == onsets[1]
    assert thumb.right_share == pinches.right_share == 1.0


def test_a_take_that_cannot_be_followed_is_not_logged(desk: PlayDesk, log: MemoryLog) -> None:
    assert desk.grade(np.zeros(RATE_HZ, np.float32), RATE_HZ).line is None
    assert logged(log) == []


def test_the_count_in_is_over_before_the_ear_has_to_open(desk: PlayDesk) -> None:
    counted = desk.count_in(60.0, 8000)
    beats = desk.arrangement.meter.beats
    assert len(counted) / 8000 == pytest.approx(beats - 1 + 0.1, abs=0.01)
    assert np.abs(counted).max() > 0.01
