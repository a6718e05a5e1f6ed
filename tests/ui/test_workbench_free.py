# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The workbench of a recording without a steady beat: long and short instead of beats."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from coach.notation import LineKind
from coach.practice.events import GridSet, RhythmMade
from coach.practice.piece_state import FREE
from coach.ui.presenters.note_work import LONG_WORDS, SHORT_WORDS, NoteWork
from coach.ui.theme import EVENING, Look
from tests.ui.bench_room import BenchRoom, beginnings, find, opened, view_of
from tests.ui.checks import faults
from tests.ui.driver import RealWindow
from tests.ui.stage import a_context


def free_room() -> BenchRoom:
    chosen, grid, sections = beginnings()
    assert isinstance(grid, GridSet)
    seconds = replace(grid, quarters=(Fraction(0), Fraction(1)), seconds=(0.0, 1.0), feel=FREE)
    return BenchRoom(chosen, seconds, sections)


def longs(room: BenchRoom) -> list[bool | None]:
    return [note.long for note in room.journal.progress.piece.sections[0].melody.notes]


def test_a_tapped_note_is_short_until_the_player_says_long(monkeypatch: Any) -> None:
    room = free_room()
    presenter = opened(room, monkeypatch)
    assert view_of(presenter).grid == Fraction(1, 4)
    assert view_of(presenter).feel is None
    find(presenter, [60, 62])
    presenter.choose(LineKind.MELODY, Fraction(0))
    presenter.work(NoteWork.turn_long)
    assert view_of(presenter).said == LONG_WORDS
    assert longs(room) == [True, False]
    presenter.work(lambda note: note.propose(64))
    presenter.act()  # another note at the same place keeps what it is
    assert longs(room) == [True, False]
    assert [note.long for note in view_of(presenter).strip.notes] == [True, False]
    presenter.work(NoteWork.turn_long)
    assert view_of(presenter).said == SHORT_WORDS
    presenter.work(NoteWork.undo)
    assert longs(room) == [True, False]


def test_both_lines_settled_make_a_rhythm(monkeypatch: Any) -> None:
    room = free_room()
    presenter = opened(room, monkeypatch)
    find(presenter, [60, 62])
    presenter.choose(LineKind.MELODY, Fraction(0))
    presenter.work(NoteWork.turn_long)
    presenter.settle()
    bass = opened(room, monkeypatch, LineKind.BASS)
    assert view_of(bass).strip.slots == ()  # nothing is known of its changes
    find(bass, [43])
    bass.settle()
    (made,) = room.events(RhythmMade)
    assert [(note.onset, note.duration) for note in made.melody] == [(0, 2), (2, 1)]
    assert not room.journal.progress.piece.free("A")
    assert not view_of(opened(room, monkeypatch)).free


@pytest.mark.window
def test_the_page_has_long_and_short_and_no_beats(window: RealWindow) -> None:
    from coach.ui.screens.workbench.screen import build

    room = free_room()
    page = window.show(build(a_context(Look(EVENING), room.services, room, section="A")), "piece")
    window.frames(6)
    window.key(ord("g"), "g")
    window.key(32)
    page.turn_fold("Change notes")
    window.wait(0.3)  # the fold comes into sight
    assert {"Shorter", "Longer"}.isdisjoint(window.buttons())
    window.tap_words("Make it long")
    assert longs(room) == [True]
    assert "Make it short" in window.buttons()
    assert not faults(window)
    for fold, gone in (("Speed and loudness", "Click on the beats: off"), ("More", "Swing: long, short")):
        page.turn_fold(fold)
        window.frames(6)
        assert gone not in window.buttons()
        assert not faults(window)
