"""Short logs for tests: a piece taken from choosing to finished, an event at a time."""

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, timedelta
from fractions import Fraction

from coach.practice.events import (
    Event,
    GridSet,
    LineSettled,
    LineWritten,
    LoggedEvent,
    NoteRecord,
    PieceChosen,
    PieceFinished,
    PlayedSettled,
    SectionRecord,
    SectionsSet,
    TakeKept,
    TimeSpent,
    TogetherSettled,
)
from coach.practice.fold import fold_all
from coach.practice.progress import Progress
from coach.practice.stages import Stage

START = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
"""A Monday."""


def logged(
    events: Iterable[Event], start: datetime = START, *, minutes: float = 1.0
) -> Iterator[LoggedEvent]:
    """Events one after another, a minute apart."""
    for index, event in enumerate(events):
        yield LoggedEvent(index + 1, start + timedelta(minutes=minutes * index), event)


def progress_of(*events: Event) -> Progress:
    """The fold over some events from the beginning."""
    return fold_all(logged(events))


def record(name: str, bars: int, onset: int = 0) -> SectionRecord:
    """A section in 4/4 from a quarter on."""
    return SectionRecord(name, Fraction(onset), Fraction(onset + 4 * bars))


def notes(onset: int, *midis: int) -> tuple[NoteRecord, ...]:
    """Quarter notes one after another."""
    return tuple(NoteRecord(Fraction(onset + i), Fraction(1), midi) for i, midi in enumerate(midis))


def begun(piece: str = "p", sections: tuple[str, ...] = ("A", "B"), bars: int = 4) -> tuple[Event, ...]:
    """A piece in hand, in 4/4, cut into sections of so many bars."""
    records = tuple(record(name, bars, 4 * bars * i) for i, name in enumerate(sections))
    grid = GridSet(piece, "4/4", Fraction(0), (Fraction(0), Fraction(4)), (0.0, 2.0))
    return (PieceChosen(piece, piece.title(), None), grid, SectionsSet(piece, records))


def section_done(section: str, onset: int = 0, piece: str = "p", minutes: float = 10.0) -> tuple[Event, ...]:
    """A section from its first note to good enough, the same time for each stage."""

    def spent(stage: Stage) -> TimeSpent:
        return TimeSpent("piece", 60 * minutes, piece, section, stage)

    return (
        LineWritten(piece, section, "melody", notes(onset, 60, 62, 64)),
        spent(Stage.MELODY),
        LineSettled(piece, section, "melody"),
        LineWritten(piece, section, "bass", notes(onset, 48)),
        spent(Stage.BASS),
        LineSettled(piece, section, "bass"),
        spent(Stage.TOGETHER),
        TogetherSettled(piece, section),
        spent(Stage.PLAYED),
        PlayedSettled(piece, section),
    )


def finished(piece: str = "p", sections: tuple[str, ...] = ("A", "B"), bars: int = 4) -> tuple[Event, ...]:
    """A piece from choosing to done."""
    work = [event for i, name in enumerate(sections) for event in section_done(name, 4 * bars * i, piece)]
    return (
        *begun(piece, sections, bars),
        *work,
        TakeKept(piece, "takes/1.flac", 30.0),
        PieceFinished(piece),
    )
