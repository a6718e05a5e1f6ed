"""The last resort: bass notes that meet the tune go an octave away; rules and contract are kept."""

import random

import pytest

from coach.cli.commands.finger import as_value
from coach.fretboard import SEASONED, STANDARD, STARTER
from coach.notation import Arrangement
from coach.pieces.change_kinds import PRICES, ChangeKind
from coach.pieces.change_search import Hooks, Proposal
from coach.pieces.changes import mend
from tests.fretboard.checker import broken_rules
from tests.fretboard.contract import broken_shape
from tests.fretboard.pieces import arrangement_of
from tests.fretboard.wide_pieces import wide_piece, with_capo


def meeting() -> Arrangement:
    """The bass in unison with the tune, high up and held while it moves; low elsewhere."""
    return wide_piece(random.Random(159), 6).arrangement


def test_bass_notes_that_meet_the_tune_go_below_it() -> None:
    piece = meeting()
    told: list[Proposal] = []
    mended = mend(piece, hooks=Hooks(on_first=told.append))
    assert mended.best is not None
    assert told
    assert not mended.proven
    moved = [change for change in mended.best.changes if change.kind is ChangeKind.BASS_NOTE_OCTAVE]
    assert moved
    octaves = sum(PRICES.bass_note_octave for _ in moved)
    assert mended.best.price >= octaves
    for change in moved:
        (before,) = (note for note in piece.bass if note.onset == change.onset)
        (after,) = (note for note in mended.best.arrangement.bass if note.onset == change.onset)
        moved_by = (after.midi - before.midi) // 12
        assert after.midi == before.midi + 12 * moved_by
        assert change.price == abs(moved_by) * PRICES.bass_note_octave
        assert (moved_by > 0) == ("higher" in change.detail)
    value = {"input": "x", **as_value(mended, piece, STANDARD, STARTER.name)}
    assert broken_rules(value) == broken_shape(value) == []


def test_a_bass_note_is_not_raised_into_the_tune_on_another_string() -> None:
    # E4 over E3 with E3 raised would be a unison played twice (strings 5 and 6, say).
    piece = arrangement_of([("0", "1", 52), ("1", "1", 64)], [("0", "4", 40)])
    for reach in (STARTER, SEASONED):
        value = {"input": "x", **as_value(mend(piece, reach=reach), piece, STANDARD, reach.name)}
        assert broken_rules(value) == []


@pytest.mark.parametrize("seed", range(40))
def test_wide_pieces_keep_every_rule_and_the_contract(seed: int) -> None:
    rng = random.Random(1000 + seed)
    piece = with_capo(wide_piece(rng, 4).arrangement, rng.choice((0, 0, 2, 5)))
    mended = mend(piece)
    value = {"input": "x", **as_value(mended, piece, STANDARD, STARTER.name)}
    assert broken_rules(value) == broken_shape(value) == []
    if mended.best is not None and not mended.as_written:
        sounding = {(n.onset, n.midi) for line in mended.best.arrangement.lines for n in line}
        assert sounding == {(n.note.onset, n.note.midi) for n in mended.best.fingering.notes}
