"""Wishes that cannot all be kept, against a search over every subset with the independent checker's rules."""

import random
from itertools import combinations

import pytest

from coach.fretboard import Fingering, Neck, NoteId, NoteWish, Wishes, solve
from coach.fretboard.clash import clash, keepable, playable
from coach.fretboard.wishes import BelowFret, NoBarre, Wish
from coach.notation import LineKind, Place
from tests.fretboard.pieces import arrangement_of, chance_piece

TUNE, BASS = NoteId(LineKind.MELODY, 0), NoteId(LineKind.BASS, 0)
G_OVER_C = arrangement_of([("0", "1", 67)], [("0", "2", 48)])
"""G4 over C3: G4 at string 1 fret 3 or string 2 fret 8, C3 at string 5 fret 3 or string 6 fret 8."""


def holds(wishes: tuple[Wish, ...], piece: object = G_OVER_C) -> bool:
    return isinstance(solve(piece, wishes=Wishes.of(wishes)), Fingering)  # type: ignore[arg-type]


def test_a_note_above_a_highest_fret_stands_against_it() -> None:
    wishes = Wishes((NoteWish(TUNE, Place(2, 8)),), below_fret=5, no_barre=True)
    assert clash(Neck(), G_OVER_C, wishes) == (BelowFret(5), NoteWish(TUNE, Place(2, 8)))
    kept = keepable(Neck(), G_OVER_C, wishes)
    assert kept == Wishes(below_fret=5, no_barre=True)


def test_one_finger_cannot_press_two_frets() -> None:
    wishes = Wishes((NoteWish(TUNE, Place(2, 8), 1), NoteWish(BASS, Place(5, 3))))
    found = clash(Neck(), G_OVER_C, wishes)
    # Frets 3 and 8 lie 137 mm apart by equal temperament, and no hand of the table spans that.
    assert found == (NoteWish(TUNE, Place(2, 8)), NoteWish(BASS, Place(5, 3)))


def test_a_barre_that_is_asked_for_and_ruled_out() -> None:
    piece = arrangement_of([("0", "1", 65)], [("0", "1", 41)])  # F4 over F2, fret 1 on strings 1 and 6
    fingers = (NoteWish(TUNE, finger=1), NoteWish(BASS, finger=1))
    assert clash(Neck(), piece, Wishes(fingers)) == ()
    found = clash(Neck(), piece, Wishes(fingers, no_barre=True))
    assert set(found) == {NoBarre(), *fingers}


def test_lines_that_nobody_can_play_are_not_for_the_wishes() -> None:
    piece = arrangement_of([("0", "1", 100)], [("0", "1", 48)])
    assert clash(Neck(), piece, Wishes(below_fret=3)) == ()


def test_single_wishes_and_wishes_together_are_the_same() -> None:
    wishes = Wishes((NoteWish(TUNE, Place(2, 8), 3), NoteWish(BASS, finger=1)), below_fret=9, no_barre=True)
    assert Wishes.of(wishes.singly()) == wishes
    assert len(wishes.singly()) == 5
    assert wishes.without(NoteWish(TUNE, finger=3)).notes[0] == NoteWish(TUNE, Place(2, 8))


@pytest.mark.parametrize("seed", range(12))
def test_a_clash_is_smallest_and_what_is_kept_can_be_played(seed: int) -> None:
    rng = random.Random(seed)
    piece = chance_piece(rng, 8, high=72)
    if not isinstance(solve(piece), Fingering):
        return
    notes = [NoteId(line.kind, index) for line in piece.lines for index in range(len(line))]
    wishes = Wishes(
        tuple(NoteWish(note, finger=rng.randint(1, 4)) for note in rng.sample(notes, min(4, len(notes)))),
        below_fret=rng.choice((None, 4, 6)),
        no_barre=rng.random() < 0.5,
    )
    found = clash(Neck(), piece, wishes)
    assert bool(found) != holds(wishes.singly(), piece)
    assert playable(Neck(), piece, wishes) == (not found)
    smaller = [few for size in range(len(found)) for few in combinations(wishes.singly(), size)]
    assert all(holds(few, piece) for few in smaller)
    assert holds(keepable(Neck(), piece, wishes).singly(), piece)
