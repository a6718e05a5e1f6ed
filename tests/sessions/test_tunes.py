"""The ear prepares the section that comes next."""

from dataclasses import replace
from pathlib import Path

import pytest

from coach.bootstrap import make_services
from coach.practice.events import (
    Event,
    GridSet,
    KeyChosen,
    LineSettled,
    LineWritten,
    NoteRecord,
    PieceChosen,
    SectionRecord,
    SectionsSet,
)
from coach.practice.fold import fold_all
from coach.practice.progress import Progress
from coach.sessions.ear.tunes import tune_ahead
from coach.sessions.piece.bringing_in import bundled_pieces
from coach.sessions.services import Services
from tests.practice_steps import begun, logged, notes, progress_of, section_done


@pytest.fixture
def services(tmp_path: Path) -> Services:
    return make_services(tmp_path)


def bundled(services: Services) -> tuple[tuple[Event, ...], list[tuple[NoteRecord, ...]]]:
    """The first bundled piece taken in hand and cut as it is meant, and the tune of each section."""
    piece = bundled_pieces(services)[0].arrangement
    ends = [*(section.onset for section in piece.sections[1:]), piece.melody.end]
    records = [
        SectionRecord(section.name, section.onset, end)
        for section, end in zip(piece.sections, ends, strict=True)
    ]
    tunes = [
        tuple(
            NoteRecord(note.onset, note.duration, note.midi)
            for note in piece.melody
            if record.onset <= note.onset < record.end
        )
        for record in records
    ]
    chosen = PieceChosen("p", "P", None, bundled_pieces(services)[0].id)
    grid = GridSet("p", str(piece.meter), piece.pickup, (records[0].onset, records[0].end), (0.0, 9.0))
    return (chosen, grid, SectionsSet("p", tuple(records))), tunes


def midis(tune: tuple[NoteRecord, ...]) -> tuple[int, ...]:
    return tuple(note.midi for note in tune)


def test_of_a_bundled_piece_the_next_section_is_prepared_before_it_is_found(services: Services) -> None:
    events, tunes = bundled(services)
    assert tune_ahead(services, progress_of(*events)) == midis(tunes[0])
    found = (LineWritten("p", "A", "melody", tunes[0]), LineSettled("p", "A", "melody"))
    assert tune_ahead(services, progress_of(*events, *found)) == midis(tunes[1])
    raised = KeyChosen("p", "A", 0, 2, 0.0, 1)
    assert tune_ahead(services, progress_of(*events, raised)) == tuple(m + 14 for m in midis(tunes[0]))


def test_of_a_recording_the_section_found_last_is_known(services: Services) -> None:
    assert tune_ahead(services, Progress()) == ()
    assert tune_ahead(services, progress_of(*begun())) == ()
    once = (*begun(), *section_done("A"))
    assert tune_ahead(services, progress_of(*once)) == (60, 62, 64)
    two = (*once, LineWritten("p", "B", "melody", notes(16, 67, 65)))
    assert tune_ahead(services, progress_of(*two)) == (60, 62, 64)  # two notes are no tune


def test_a_bundled_piece_of_another_version_is_no_stumbling_block(services: Services) -> None:
    events, _ = bundled(services)
    gone = replace(events[0], bundled="was-here-once")
    assert tune_ahead(services, fold_all(logged((gone, *events[1:])))) == ()
