"""Marks come back from the log: for notes that stand as they were asked, and for no others."""

from datetime import UTC, datetime
from fractions import Fraction

import pytest

from coach.music import BeatGrid
from coach.notation import LineKind, Note
from coach.pieces.hints import HintStep
from coach.pieces.verdicts import Outcome
from coach.practice.events import (
    GridSet,
    HintTaken,
    KeyChosen,
    NoteChecked,
    PieceChosen,
    SectionRecord,
    SectionsSet,
)
from coach.practice.piece_state import PieceState
from coach.sessions.journal import Journal
from coach.sessions.piece.line_desk import LineDesk
from coach.sessions.piece.material import grid_of, span_of
from coach.sessions.piece.recalled import Recalled, events_of, place_key, recalled
from tests.fakes import FakeClock, MemoryLog

MELODY = LineKind.MELODY
ONE = Fraction(1)
DURATION_S = 30.0


class Bench:
    """A section of four bars, its melody desk, and questions as the log keeps them."""

    def __init__(self) -> None:
        self.log = MemoryLog()
        self.journal = Journal(self.log, FakeClock())
        self.journal.write(PieceChosen("p", "Ferry Bell", "a" * 64))
        grid = BeatGrid.steady(80.0, 1.0)
        self.journal.write(GridSet("p", "4/4", Fraction(0), grid.quarters, grid.seconds))
        self.journal.write(SectionsSet("p", (SectionRecord("A", Fraction(0), Fraction(16)),)))
        self.desk = LineDesk(self.journal, "A", MELODY)

    def ask(self, note: Note, outcome: Outcome = Outcome.HEARD) -> None:
        span = span_of(grid_of(self.piece), note.onset, note.duration)
        end_s = min(span.end_s, DURATION_S)
        self.journal.write(
            NoteChecked("p", "A", "melody", span.start_s, end_s, note.midi, outcome.value, None, 0.9)
        )

    @property
    def piece(self) -> PieceState:
        return self.journal.piece_in_hand

    def recall(self) -> Recalled:
        return recalled(events_of(self.log, self.piece), self.piece, "A", DURATION_S)

    def marks(self) -> dict[Fraction, Outcome]:
        return {onset: verdict.outcome for (_, onset), verdict in self.recall().verdicts.items()}


@pytest.fixture
def bench() -> Bench:
    return Bench()


def test_an_answer_stands_while_its_note_does(bench: Bench) -> None:
    first, second = bench.desk.place(Fraction(0), ONE, 64), bench.desk.place(ONE, ONE, 65)
    bench.ask(first)
    bench.ask(second, Outcome.NOT_HEARD)
    assert bench.marks() == {Fraction(0): Outcome.HEARD, ONE: Outcome.NOT_HEARD}
    bench.desk.place(ONE, ONE, 67)
    assert bench.marks() == {Fraction(0): Outcome.HEARD}
    bench.desk.undo()
    assert bench.marks()[ONE] is Outcome.NOT_HEARD


def test_a_longer_or_later_note_was_not_asked_about(bench: Bench) -> None:
    note = bench.desk.place(Fraction(0), ONE, 64)
    bench.ask(note)
    bench.desk.place(Fraction(0), 2 * ONE, 64)
    assert bench.marks() == {}
    bench.desk.undo()
    bench.desk.move(note, ONE)
    assert bench.marks() == {}


def test_the_last_answer_counts(bench: Bench) -> None:
    note = bench.desk.place(Fraction(0), ONE, 64)
    bench.ask(note, Outcome.CANNOT_TELL)
    bench.ask(note)
    assert bench.marks() == {Fraction(0): Outcome.HEARD}


def test_a_key_moves_the_answer_with_its_note(bench: Bench) -> None:
    bench.ask(bench.desk.place(Fraction(0), ONE, 64))
    bench.journal.write(KeyChosen("p", "D", 0, 2, 0.0, 1, 0))
    (verdict,) = bench.recall().verdicts.values()
    assert verdict.midi == 64 + 2 + 12
    assert bench.recall().asked[place_key(MELODY, verdict.span.start_s)].notes == {78}


def test_steps_of_the_ladder_are_remembered(bench: Bench) -> None:
    note = bench.desk.place(Fraction(0), ONE, 64)
    span = span_of(grid_of(bench.piece), note.onset, note.duration)
    for step in (HintStep.DIRECTION, HintStep.NEAR):
        bench.journal.write(HintTaken("p", "A", "melody", span.start_s, span.end_s, 64, step.value))
    asked = bench.recall().asked[place_key(MELODY, span.start_s)]
    assert asked.steps == {HintStep.DIRECTION, HintStep.NEAR}


def test_another_section_or_line_has_marks_of_its_own(bench: Bench) -> None:
    note = bench.desk.place(Fraction(0), ONE, 64)
    bench.ask(note)
    bench.log.logged.append(
        type(bench.log.logged[-1])(
            99,
            datetime(2031, 5, 4, tzinfo=UTC),
            NoteChecked("q", "A", "melody", 1.0, 1.75, 64, "heard", None, 1),
        )
    )
    assert len(bench.recall().verdicts) == 1
