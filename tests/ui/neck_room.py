"""A room with one section whose two lines are settled, for the pages that put it on the neck."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

from coach.practice.events import KeyChosen, LineSettled, LineWritten, NoteRecord
from coach.sessions.practice_room import PracticeRoom
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.together import TogetherPresenter
from coach.ui.presenters.together_view import TogetherView
from coach.ui.presenters.view import Ready
from tests.practice_steps import begun
from tests.ui.scripted_room import ScriptedRoom
from tests.ui.stage import Now, Went

Given = tuple[str, str, int] | tuple[str, str, int, int, int]
"""Onset, duration, MIDI number; string and fret, if it was found there."""

EASY = ([("0", "1", 64), ("1", "1", 67), ("2", "2", 69), ("4", "2", 67), ("6", "2", 64)],
        [("0", "4", 48), ("4", "4", 43)])  # fmt: skip
"""E4 G4 A4 | G4 E4 over held C3 | G2: easy in first position."""
TOO_WIDE = ([("0", "1", 71), ("1", "1", 72), ("2", "2", 76)], [("0", "4", 43)])
"""B4 C5 E5 over a held G2: too far apart for any hand at the seventh fret and above."""
HIGH = ([("0", "1", 88), ("1", "1", 91), ("2", "2", 88)], [("0", "4", 48)])
"""E6 G6: above the neck; an octave or two lower it is easy."""


def room_with(
    folder: Path, lines: tuple[list[Given], list[Given]] = EASY, capo: int = 0, **settings: object
) -> ScriptedRoom:
    """A piece of one section, section A, with both lines good enough."""
    room = ScriptedRoom(folder)
    store = room.services.settings()
    store.save(replace(store.load(), **settings))  # type: ignore[arg-type]
    for event in begun(sections=("A", "B"), bars=2):
        room.journal.write(event)
    room.journal.write(KeyChosen("p", "C", capo, 0, 0.0))
    for kind, notes in zip(("melody", "bass"), lines, strict=True):
        records = tuple(NoteRecord(Fraction(o), Fraction(d), midi, *place) for o, d, midi, *place in notes)
        room.journal.write(LineWritten("p", "A", kind, records))
        room.journal.write(LineSettled("p", "A", kind))
    return room


def opened(room: PracticeRoom) -> TogetherPresenter:
    """The presenter of section A, looking done."""
    presenter = TogetherPresenter(room, "A", Now(), InlineRunner(), Went())
    presenter.opened()
    return presenter


def view_of(presenter: TogetherPresenter) -> TogetherView:
    assert isinstance(presenter.view, Ready), presenter.view
    return presenter.view.value


def went(presenter: TogetherPresenter) -> list[tuple[str, dict[str, str]]]:
    go: Any = presenter._go
    return list(go.to)
