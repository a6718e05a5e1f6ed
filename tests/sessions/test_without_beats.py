"""A piece without beats from its choice to a rhythm that can be played; each note is asked where it lies."""

from fractions import Fraction

import pytest

from coach.errors import ScopeError
from coach.music import BeatGrid, Meter, PerformedNote, Span
from coach.notation import LineKind
from coach.pieces.sections import BarRange
from coach.practice.events import PieceChosen, PlayedSettled, RhythmMade
from coach.practice.fold import fold_all
from coach.practice.piece_state import Cell
from coach.practice.settings import Settings
from coach.sessions.journal import Journal
from coach.sessions.piece.beat_desk import BeatDesk
from coach.sessions.piece.line_desk import LineDesk
from coach.sessions.piece.material import arrangement_of, grid_of, whole_section
from coach.sessions.piece.neck_desk import Hand, NeckDesk
from coach.sessions.piece.phrase_capture import written
from coach.sheet.musicxml_out import write_musicxml
from tests.fakes import FakeClock, MemoryLog

TUNE_S = [(0.4, 1.0), (1.5, 0.5), (2.05, 0.5), (2.6, 1.2), (4.1, 0.5), (4.7, 1.5)]
BASS_S = [(0.42, 2.0), (2.62, 1.4), (4.7, 2.0)]


def heard(spans: list[tuple[float, float]], low: int) -> list[PerformedNote]:
    return [
        PerformedNote(Span(at, at + length), low + i, 0.0, 0.9, low + i, at + 0.07)
        for i, (at, length) in enumerate(spans)
    ]


@pytest.fixture
def log() -> MemoryLog:
    return MemoryLog()


@pytest.fixture
def journal(log: MemoryLog) -> Journal:
    found = Journal(log, FakeClock())
    found.write(PieceChosen("p", "Slow Air", "a" * 64))
    desk = BeatDesk(found)
    desk.without_beats()
    desk.cut_at((BarRange("A", 1, 2), BarRange("B", 3, 2)))
    return found


def settled(journal: Journal, section: str = "A", after_s: float = 0.0) -> None:
    for kind, spans, low in ((LineKind.MELODY, TUNE_S, 60), (LineKind.BASS, BASS_S, 43)):
        desk = LineDesk(journal, section, kind)
        later = [(at + after_s, length) for at, length in spans]
        desk.write(written(journal.progress.piece, kind, heard(later, low), section), by="played")
        desk.settle()


def test_a_phrase_is_written_by_order_long_and_short(journal: Journal) -> None:
    desk = LineDesk(journal, "A", LineKind.MELODY)
    desk.write(written(journal.progress.piece, LineKind.MELODY, heard(TUNE_S, 60), "A"), by="played")
    assert [note.long for note in desk.line] == [True, False, False, True, False, True]
    grid = grid_of(journal.progress.piece)
    for note, (at_s, _) in zip(desk.line, TUNE_S, strict=True):
        assert grid.second_of(note.onset) == pytest.approx(at_s, abs=0.0626)
    desk.settle()
    assert journal.progress.piece.free("A")  # the bass is still to come


def test_two_settled_lines_are_put_into_beats_and_lie_where_they_lay(
    journal: Journal, log: MemoryLog
) -> None:
    settled(journal)
    piece = journal.progress.piece
    assert not piece.free("A")
    assert piece.free("B")
    both, grid = whole_section(piece, "A"), grid_of(piece)
    assert [(n.onset, n.duration) for n in both.melody] == [(0, 2), (2, 1), (3, 1), (4, 2), (6, 1), (7, 2)]
    assert [n.onset for n in both.bass] == [0, 4, 7]
    for note, (at_s, _) in zip(both.melody, TUNE_S, strict=True):
        assert grid.second_of(note.onset) == pytest.approx(at_s, abs=0.0626)
    assert write_musicxml(both)  # a sheet can be made of it
    # What comes after has moved along, and still lies where it lay.
    assert (piece.section("A").end, piece.section("B").onset) == (12, 12)
    assert grid.second_of(piece.section("B").onset) == pytest.approx(8.0)
    assert grid.second_of(piece.section("B").onset + 1) == pytest.approx(9.0)
    assert fold_all(log.logged).piece == piece


def rhythms(log: MemoryLog) -> list[RhythmMade]:
    return [each.event for each in log.logged if isinstance(each.event, RhythmMade)]


def test_a_line_that_is_changed_again_keeps_its_beats(journal: Journal, log: MemoryLog) -> None:
    settled(journal)
    (made,) = rhythms(log)
    piece = journal.progress.piece
    with pytest.raises(ScopeError, match="beats already"):
        journal.write(made)
    desk = LineDesk(journal, "A", LineKind.MELODY)
    desk.reopen()
    desk.settle()
    assert len(rhythms(log)) == 1
    assert journal.progress.piece.section("A").melody.notes == piece.section("A").melody.notes


def test_without_the_bass_there_is_no_rhythm(journal: Journal) -> None:
    made = RhythmMade("p", "A", (), (), Fraction(8), (Fraction(0), Fraction(1)), (0.0, 1.0))
    with pytest.raises(ScopeError, match="Both lines come first"):
        journal.write(made)


def test_the_neck_and_the_take_go_on_from_there(journal: Journal) -> None:
    settled(journal)
    desk = NeckDesk(journal, Hand.of(Settings()), "A")
    way = desk.ways().best
    assert way is not None
    desk.settle(way)
    piece = journal.progress.piece
    assert piece.section("A").together is Cell.SETTLED
    assert [note.onset for note in piece.section("A").melody.notes] == [0, 2, 3, 4, 6, 7]
    journal.write(PlayedSettled("p", "A"))
    settled(journal, "B", after_s=8.0)
    both = arrangement_of(journal.progress.piece)
    assert len(both.melody) == 2 * len(TUNE_S)
    (onset, _), *_ = TUNE_S
    second = whole_section(journal.progress.piece, "B").melody.notes[0]
    assert second.onset == 12
    assert grid_of(journal.progress.piece).second_of(second.onset) == pytest.approx(8.0 + onset, abs=0.0626)


def test_who_finds_a_beat_after_all_has_beats() -> None:
    found = Journal(MemoryLog(), FakeClock())
    found.write(PieceChosen("p", "Slow Air", "a" * 64))
    desk = BeatDesk(found)
    desk.without_beats()
    desk.set_grid(BeatGrid.steady(80.0, 0.5), Meter(3, 4), Fraction(0))
    assert not found.progress.piece.without_beats
    assert found.progress.piece.grid.feel == "straight"
