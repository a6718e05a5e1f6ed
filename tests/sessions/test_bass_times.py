"""Where the bass changes: times on the beat, and nothing else of it."""

from dataclasses import fields
from datetime import date
from fractions import Fraction
from typing import get_type_hints

import pytest

from coach.errors import ScopeError
from coach.hearing.evidence import Bars, PitchEvidence
from coach.music import Span
from coach.notation import LineKind
from coach.practice.events import GridSet
from coach.practice.piece_state import FREE, PieceState, SectionState
from coach.sessions.piece.bass_times import bass_changes
from coach.sessions.piece.check_desk import CheckDesk

LOWEST = 28


class NoJobs:
    """Nobody asks how far it is."""

    def progress(self, share: float, what: str) -> None:
        pass


def piece(feel: str = "straight", meter: str = "4/4", pickup: int = 0) -> tuple[PieceState, SectionState]:
    grid = GridSet("p", meter, Fraction(pickup), (Fraction(0), Fraction(1)), (0.0, 0.75), feel)
    section = SectionState("A", Fraction(0), Fraction(8 + pickup))
    return PieceState("p", "Ferry Bell", date(2031, 5, 4), grid=grid, sections=(section,)), section


def changes(held: list[int | None], **about: str | int) -> tuple[Fraction, ...]:
    """The bass holds one note a beat; ``None``: nothing is sure; behind the last the recording is over."""

    def asked(onset: Fraction, duration: Fraction) -> PitchEvidence:
        if onset >= len(held):
            raise ScopeError("The recording has ended before this place: choose an earlier one.")
        midi = held[int(onset)]
        table = tuple(0.9 if LOWEST + k == midi else 0.1 / 73 for k in range(73))
        nothing = (0.0,) * 73
        return PitchEvidence(LineKind.BASS, Span(0.0, 1.0), LOWEST, table, nothing, nothing, 1.0, Bars())

    return bass_changes(*piece(**about), asked, NoJobs())


def test_beats_inside_a_bar_with_another_note_are_found() -> None:
    assert changes([40, 40, 45, 45, 47, 47, 47, 43]) == (2, 7)


def test_the_first_beats_of_bars_are_suggested_anyway_and_not_again() -> None:
    assert changes([40, 40, 40, 40, 45, 45, 45, 45]) == ()
    assert changes([40, 45, 45, 45, 45, 47, 47, 47, 47], pickup=1) == ()


@pytest.mark.parametrize("held", [[40, None, 45, 45, None, 47, 47, 47], [None] * 8, [40, 40]])
def test_what_is_not_sure_is_not_suggested(held: list[int | None]) -> None:
    assert changes(held) == ()


def test_without_beats_there_are_none() -> None:
    assert changes([40, 41, 42, 43, 44, 45, 46, 47], feel=FREE) == ()


def test_only_times_come_out() -> None:
    assert get_type_hints(CheckDesk.bass_changes)["return"] == tuple[Fraction, ...]
    assert {field.name for field in fields(PieceState)}.isdisjoint({"changes", "bass_changes"})


def test_the_next_bars_note_that_is_heard_too_soon_is_no_change() -> None:
    assert changes([40, 40, 40, 45, 45, 45, 45, 45]) == ()
