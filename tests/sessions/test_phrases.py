"""Bars and phrases of a recording on the player's beat, and sections cut there."""

from fractions import Fraction

import numpy as np
import pytest

from coach.errors import InputError
from coach.music import Meter
from coach.pieces.sections import BarRange
from coach.practice.events import PieceChosen, SectionsSet
from coach.sessions.journal import Journal
from coach.sessions.piece.beat_desk import BeatDesk
from coach.sessions.piece.phrases import phrases_of
from coach.sessions.ports import DecodedAudio
from coach.tones.instruments import pluck
from tests.fakes import FakeClock, MemoryLog

RATE_HZ = 22_050


@pytest.fixture
def log() -> MemoryLog:
    return MemoryLog()


@pytest.fixture
def journal(log: MemoryLog) -> Journal:
    """A piece in 2/4 at 120 with an upbeat of a quarter: bars begin at 0.5, 1.5, 2.5, … s."""
    journal = Journal(log, FakeClock())
    journal.write(PieceChosen("p", "Piece", "a" * 64))
    taps_s = [0.5 + 0.5 * k for k in range(16)]
    BeatDesk(journal).tap(taps_s, 0.5, Meter(2, 4), pickup=Fraction(1), duration_s=12.6)
    return journal


def recording() -> DecodedAudio:
    """Twelve bars of quarters; every third bar ends on a rest, which ends a phrase."""
    sound = np.zeros(round(12.6 * RATE_HZ), np.float32)
    for beat in range(24):
        if beat % 6 == 5:
            continue
        first = round((0.5 + 0.5 * beat) * RATE_HZ)
        note = 0.3 * pluck(330.0, 0.4, RATE_HZ)
        sound[first : first + len(note)] += note[: len(sound) - first]
    return DecodedAudio(np.stack([sound, sound], axis=1), RATE_HZ, "0" * 64)


def test_phrases_end_at_the_rests(journal: Journal) -> None:
    piece = journal.progress.piece
    assert piece is not None
    found = phrases_of(piece, recording())
    assert found.bar_count == 12
    assert len(found.ends) == 13
    ends = sorted(range(1, 13), key=lambda bar: -found.ends[bar])[:4]
    assert sorted(ends) == [3, 6, 9, 12]


def test_sections_are_cut_at_phrases_with_their_upbeats(journal: Journal, log: MemoryLog) -> None:
    ends = [0.0] * 13
    ends[3] = ends[6] = 1.0
    desk = BeatDesk(journal)
    assert sum(part.bars for part in desk.proposed(12, ends)) in {6, 8}
    desk.cut_at(desk.sections_of(6, ends))
    event = log.logged[-1].event
    assert isinstance(event, SectionsSet)
    assert [(s.name, s.onset, s.end) for s in event.sections] == [("A", 0, 6), ("B", 6, 13)]


def test_sections_of_the_players_own(journal: Journal, log: MemoryLog) -> None:
    BeatDesk(journal).cut_at((BarRange("A", 1, 2), BarRange("B", 3, 5)))
    event = log.logged[-1].event
    assert isinstance(event, SectionsSet)
    assert [(s.name, s.onset, s.end) for s in event.sections] == [("A", 0, 4), ("B", 4, 15)]


@pytest.mark.parametrize("ranges", [(), (BarRange("A", 1, 1),), (BarRange("A", 1, 9),)])
def test_sections_that_cannot_be_are_refused(journal: Journal, ranges: tuple[BarRange, ...]) -> None:
    with pytest.raises(InputError):
        BeatDesk(journal).cut_at(ranges)
    with pytest.raises(InputError):
        BeatDesk(journal).cut(0)


def test_no_more_than_eight_bars_are_proposed_at_first_unless_a_phrase_wants_it(journal: Journal) -> None:
    assert sum(part.bars for part in BeatDesk(journal).proposed(40)) == 8
    assert sum(part.bars for part in BeatDesk(journal).proposed(5)) == 5
    assert sum(part.bars for part in BeatDesk(journal).proposed(1)) == 1
