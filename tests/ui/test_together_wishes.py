"""What the player wants of the hand: logged, kept exactly, there after a restart, taken back."""

from fractions import Fraction
from pathlib import Path

import pytest

from coach.errors import ScopeError
from coach.practice.codec import decode, encode
from coach.practice.events import HandWished, KeyChosen, LineWritten, NoteWished, TogetherSettled
from coach.practice.next_step import next_steps
from coach.sessions.piece.neck_desk import Hand
from coach.sessions.piece.play_desk import PlayDesk
from coach.ui.presenters.together import TogetherPresenter
from coach.ui.presenters.together_view import Tool
from tests.ui.neck_room import TOO_WIDE, opened, room_with, view_of
from tests.ui.scripted_room import ScriptedRoom

E_ON_2 = "the tune's E, bar 1, beat 1, on string 2, fret 5"
G_ON_2 = "the tune's G, bar 1, beat 2, on string 2, fret 8"


def wished(room: ScriptedRoom) -> list[HandWished]:
    return list(room.events(HandWished))


def lying(presenter: TogetherPresenter) -> list[tuple[str, Fraction, int, int, int | None]]:
    """Every note of the way shown: line, onset, string, fret, finger."""
    shown = presenter._shown
    assert shown is not None
    return [
        (note.line.value, note.note.onset, note.place.string, note.place.fret, note.finger)
        for note in shown.fingering.notes
    ]


def with_finger(presenter: TogetherPresenter, finger: int = 2) -> TogetherPresenter:
    """The bass's first C, on string 5, fret 3, with a finger."""
    presenter.tap(5, 3)
    presenter.choose_finger(str(finger))
    return presenter


def g_on_string_2(presenter: TogetherPresenter) -> TogetherPresenter:
    presenter.step(1)
    presenter.tap(2, 8)
    return presenter


def e_on_string_2(presenter: TogetherPresenter) -> TogetherPresenter:
    presenter.tap(2, 5)
    return presenter


def test_every_wish_is_an_event_and_survives_its_codec(tmp_path: Path) -> None:
    room = room_with(tmp_path)
    presenter = with_finger(opened(room))
    presenter.wish_below("7")
    presenter.wish_barre("no")
    note = NoteWished("bass", Fraction(0), 5, 3, 2)
    assert [(each.notes, each.below_fret, each.no_barre) for each in wished(room)] == [
        ((note,), None, False),
        ((note,), 7, False),
        ((note,), 7, True),
    ]
    assert all(decode(*encode(event)) == event for event in wished(room))


def test_wishes_hold_after_a_restart_and_the_hand_lies_as_it_did(tmp_path: Path) -> None:
    room = room_with(tmp_path)
    presenter = e_on_string_2(with_finger(opened(room)))
    before = lying(presenter)
    again = opened(room)  # another presenter knows only the log
    assert lying(again) == before
    assert ("bass", Fraction(0), 5, 3, 2) in before
    assert ("melody", Fraction(0), 2, 5) in [each[:4] for each in before]
    assert E_ON_2 in view_of(again).kept


def test_wishes_are_taken_back_one_by_one_and_also_after_a_restart(tmp_path: Path) -> None:
    room = room_with(tmp_path)
    presenter = opened(room)
    steps = [lying(presenter)]
    with_finger(presenter)
    steps.append(lying(presenter))
    presenter.wish_below("7")
    again = opened(room)
    assert view_of(again).below_fret == 7
    assert view_of(again).can_take_back
    for expected in reversed(steps):
        again.take_back()
        assert lying(again) == expected
    assert not view_of(again).can_take_back
    assert wished(room)[-1].by == "undo"
    assert not opened(room)._wishes.singly()


def test_a_finger_holds_when_another_note_is_moved(tmp_path: Path) -> None:
    presenter = with_finger(opened(room_with(tmp_path)))
    presenter.step(3)  # bar 2
    presenter.tap(3, 12)
    assert ("bass", Fraction(0), 5, 3, 2) in lying(presenter)


def test_contradictory_wishes_are_named_in_a_sentence_and_one_is_let_go(tmp_path: Path) -> None:
    room = room_with(tmp_path)
    presenter = opened(room)
    presenter.wish_below("7")
    before, count = lying(presenter), len(wished(room))
    g_on_string_2(presenter)
    view = view_of(presenter)
    assert view.said == f"“Below fret 7” and “{G_ON_2}” cannot both be kept: let go of one."
    assert view.clash == ("below fret 7", G_ON_2)
    assert view.tool is Tool.WISHES
    assert lying(presenter) == before
    assert len(wished(room)) == count  # nothing is kept before it is decided
    presenter.release("0")
    view = view_of(presenter)
    assert (view.clash, view.below_fret) == ((), None)
    assert ("melody", Fraction(1), 2, 8) in [each[:4] for each in lying(presenter)]
    assert wished(room)[-1].by == "release"


def test_a_contradiction_can_be_left_as_it_was(tmp_path: Path) -> None:
    room = room_with(tmp_path)
    presenter = opened(room)
    presenter.wish_below("7")
    before = lying(presenter)
    g_on_string_2(presenter)
    presenter.release("")
    view = view_of(presenter)
    assert (view.clash, view.said, view.below_fret) == ((), "", 7)
    assert lying(presenter) == before


def test_a_wish_that_the_lines_forbid_is_offered_for_release_beside_the_changes(tmp_path: Path) -> None:
    presenter = opened(room_with(tmp_path))
    presenter.wish_below("5")  # A4 lies on fret 5 at the lowest
    view = view_of(presenter)
    assert view.offers
    assert view.clash == ("below fret 5",)
    assert view.said.startswith("“Below fret 5” cannot be kept with these lines as they are")
    presenter.release("0")
    view = view_of(presenter)
    assert (view.clash, view.offers, view.below_fret) == ((), (), None)


def test_a_single_wish_is_let_go_from_the_list(tmp_path: Path) -> None:
    room = room_with(tmp_path)
    presenter = e_on_string_2(with_finger(opened(room)))
    kept = view_of(presenter).kept
    assert len(kept) == 3
    presenter.let_go(str(kept.index(E_ON_2)))
    assert E_ON_2 not in view_of(presenter).kept
    assert ("bass", Fraction(0), 5, 3, 2) in lying(presenter)
    assert [each.finger for each in wished(room)[-1].notes] == [2]


def test_what_was_settled_is_what_the_sheet_shows(tmp_path: Path) -> None:
    room = room_with(tmp_path)
    presenter = with_finger(opened(room))
    expected = lying(presenter)
    presenter.act()
    records = [note for line in room.events(LineWritten)[-2:] for note in line.notes]
    assert {note.finger for note in records if note.onset == 0} >= {2}
    desk = PlayDesk(room.services, room.journal, Hand.of(room.services.current_settings()), "A")
    shown = [
        (n.line.value, n.note.onset, n.place.string, n.place.fret, n.finger)
        for n in desk._under_the_hand().fingering.notes
    ]
    assert shown == expected
    assert lying(opened(room)) == expected


def test_another_capo_forgets_places_but_not_fingers(tmp_path: Path) -> None:
    room = room_with(tmp_path)
    with_finger(opened(room))
    room.journal.write(KeyChosen("p", "C", 2, 0, 0.0))
    (wish,) = opened(room)._wishes.singly()
    assert getattr(wish, "finger", None) == 2
    assert getattr(wish, "place", None) is None


def test_the_log_remembers_a_limited_number_of_steps(tmp_path: Path) -> None:
    room = room_with(tmp_path)
    presenter = opened(room)
    for _ in range(15):
        presenter.wish_barre("no")
        presenter.wish_barre("yes")
    piece = room.journal.progress.piece
    assert piece is not None
    section = piece.section("A")
    assert section is not None
    assert len(section.wished) == 20


@pytest.mark.parametrize(
    "wrong",
    [
        {"notes": (NoteWished("alto", Fraction(0), finger=1),)},
        {"notes": (NoteWished("bass", Fraction(0), string=5),)},
        {"notes": (NoteWished("bass", Fraction(0), 7, 3),)},
        {"notes": (NoteWished("bass", Fraction(0), finger=5),)},
        {"below_fret": 0},
    ],
)
def test_what_no_hand_could_want_is_refused(tmp_path: Path, wrong: dict[str, object]) -> None:
    room = room_with(tmp_path)
    with pytest.raises(ScopeError):
        room.journal.write(HandWished("p", "A", **wrong))  # type: ignore[arg-type]


def test_the_bar_that_asks_most_of_the_hand_comes_first_when_it_is_played(tmp_path: Path) -> None:
    room = room_with(tmp_path, TOO_WIDE)  # its first bar goes up to fret 12
    presenter = opened(room)
    presenter.act()
    presenter.act()
    (settled,) = room.events(TogetherSettled)
    assert settled.hardest_bar == 1
    step = next_steps(room.journal.progress, 10.0)[0]
    assert step.bars == (1, 1)
    assert step.title.startswith("Section A: bar 1 first")
