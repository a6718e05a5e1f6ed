"""Whatever is tapped on the Together screen: wishes are kept exactly, logged, and there after a restart."""

import random
from fractions import Fraction
from pathlib import Path

import pytest

from coach.cli.commands.finger import as_value
from coach.fretboard import STANDARD, Wishes
from coach.notation import LineKind
from coach.pieces.changes import Mended
from coach.practice.events import TogetherSettled
from coach.ui.presenters.together import TogetherPresenter
from coach.ui.presenters.together_view import Tool
from tests.fretboard.checker import broken_rules
from tests.fretboard.pieces import chance_piece
from tests.ui.neck_room import Given, opened, room_with, view_of

MOVES = 30


def section(rng: random.Random) -> tuple[list[Given], list[Given]]:
    """Two bars; in one of three a bass is too low or a tune too high for the neck."""
    piece = chance_piece(rng, 8, low=rng.choice((40, 40, 36)), high=rng.choice((72, 72, 80)))
    return (
        [(str(n.onset), str(n.duration), n.midi) for n in piece.melody],
        [(str(n.onset), str(n.duration), n.midi) for n in piece.bass],
    )


def keeps(presenter: TogetherPresenter) -> bool:
    """Whether the way shown keeps what the player wants (where the lines are theirs)."""
    sight, shown = presenter._sight, presenter._shown
    assert sight is not None
    if shown is None:
        return True
    wishes: Wishes = shown.wishes
    found = {note.name: note for note in shown.fingering.notes}
    for wish in wishes.notes:
        note = found[wish.note]
        if wish.place is not None and note.place != wish.place:
            return False
        if wish.finger is not None and note.finger != wish.finger:
            return False
    low = wishes.below_fret is None or shown.fingering.highest_fret < wishes.below_fret
    return low and not (wishes.no_barre and any(hand.barre for hand in shown.fingering.hand))


def obeys_the_rules(presenter: TogetherPresenter) -> list[str]:
    shown = presenter._shown
    if shown is None:
        return []
    mended = Mended(shown.way, (), (), as_written=True, proven=True, searched_to=Fraction(0))
    return broken_rules(as_value(mended, shown.arrangement, STANDARD, "starter"))


def one_move(rng: random.Random, presenter: TogetherPresenter) -> None:
    view = view_of(presenter)
    places = [(place.kind, place.string, place.fret) for place in view.neck.places]
    places += [(note.kind, note.string, note.fret) for note in view.neck.notes]
    kind, string, fret = rng.choice(places or [(LineKind.BASS, 6, 1)])
    match rng.randrange(11):
        case 0 | 1:
            presenter.step(rng.choice((-2, -1, 1, 2)))
        case 2 | 3:
            presenter.tap(string, fret)
        case 4:
            presenter.drag(kind, string, fret)
        case 5:
            presenter.open_tool("note")
            presenter.choose_finger(str(rng.randint(1, 4)))
        case 6:
            presenter.wish_below(rng.choice(("0", "5", "7")))
        case 7:
            presenter.wish_barre(rng.choice(("yes", "no")))
        case 8:
            presenter.take_back()
        case _:
            let_go(rng, presenter)


def let_go(rng: random.Random, presenter: TogetherPresenter) -> None:
    view = view_of(presenter)
    if view.clash and rng.random() < 0.7:
        presenter.release(str(rng.randrange(len(view.clash))))
    elif view.kept and rng.random() < 0.6:
        presenter.let_go(str(rng.randrange(len(view.kept))))
    elif view.offers:
        presenter.choose_offer(str(rng.randrange(len(view.offers))))
    else:
        presenter.open_tool(rng.choice(list(Tool)).value)


@pytest.mark.parametrize("seed", range(10))
def test_every_wish_is_kept_and_survives(seed: int, tmp_path: Path) -> None:
    rng = random.Random(seed)
    lines = section(rng)
    if not (lines[0] and lines[1]):
        return
    room = room_with(tmp_path, lines)
    presenter = opened(room)
    for _ in range(MOVES):
        one_move(rng, presenter)
        assert keeps(presenter)
        assert obeys_the_rules(presenter) == []
        assert room.events(TogetherSettled) == []
    wishes = presenter._wishes
    again = opened(room)
    # Places that are not the notes' own belong to a change that was only looked at.
    assert again._wishes.below_fret == wishes.below_fret
    assert again._wishes.no_barre == wishes.no_barre
    assert keeps(again)
    if not view_of(presenter).offers:
        assert set(again._wishes.notes) == set(wishes.notes)
