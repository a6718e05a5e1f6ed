"""Both lines on the neck: what a move costs, what is out of reach, and that nothing is changed unasked."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest

from coach.fretboard import STANDARD, STARTER, Tuning
from coach.fretboard.tuning import fret_mm
from coach.notation import LineKind
from coach.practice.events import IdeaNoted, KeyChosen, LineWritten, TogetherSettled
from coach.sessions.piece.neck_desk import Hand, NeckDesk
from coach.sessions.piece.neck_exploring import Exploring
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.together import TogetherPresenter
from coach.ui.presenters.together_view import THIRD_NOTE, Sounding, TogetherView, Tool
from coach.ui.presenters.view import Empty
from tests.ui.neck_room import EASY, HIGH, TOO_WIDE, Given, opened, room_with, view_of, went
from tests.ui.stage import Now, Went


def place_of(view: TogetherView, kind: LineKind) -> tuple[int, int]:
    (note,) = (note for note in view.neck.notes if note.kind is kind)
    return note.string, note.fret


def places(view: TogetherView) -> list[tuple[int, int]]:
    return [(note.string, note.fret) for note in view.neck.notes]


def told_twice(presenter: TogetherPresenter) -> list[TogetherView]:
    seen = [view_of(presenter)]
    presenter.step(1)
    return [*seen, view_of(presenter)]


# --- the moment --------------------------------------------------------------------------------------------


def test_both_notes_are_shown_with_fingers_of_both_hands(tmp_path: Path) -> None:
    view = view_of(opened(room_with(tmp_path)))
    assert view.sentence == "Your hand can play both lines as you wrote them."
    assert view.action == "Good enough for now"
    melody, bass = view.neck.notes
    assert (melody.kind, melody.name, melody.string, melody.fret, melody.finger) == (
        LineKind.MELODY, "E", 1, 0, None,
    )  # fmt: skip
    assert (bass.kind, bass.name, bass.string, bass.fret) == (LineKind.BASS, "C", 5, 3)
    assert bass.right_hand == "p"
    assert melody.right_hand in {"i", "m", "a"}
    assert view.bar.startswith("Bar 1 is ")


def test_every_place_shown_has_the_pitch_of_its_note(tmp_path: Path) -> None:
    # Equal temperament: a fret is a semitone; open strings as in MIDI 1.0 numbers, E2 = 40.
    for view in told_twice(opened(room_with(tmp_path, capo=2))):
        pitch = {n.kind: STANDARD.open_midi(n.string) + 2 + n.fret for n in view.neck.notes}
        assert view.neck.capo == 2
        assert view.neck.places
        for other in view.neck.places:
            assert STANDARD.open_midi(other.string) + 2 + other.fret == pitch[other.kind]


def test_a_bass_that_sounds_on_is_shown_as_held(tmp_path: Path) -> None:
    struck, later = told_twice(opened(room_with(tmp_path)))
    assert [note.held for note in struck.neck.notes] == [False, False]
    assert [(note.kind, note.held) for note in later.neck.notes] == [
        (LineKind.MELODY, False),
        (LineKind.BASS, True),
    ]


def test_notes_are_shown_where_they_were_found(tmp_path: Path) -> None:
    found: list[Given] = [("0", "1", 64, 2, 5), ("1", "1", 67, 2, 8)]
    view = view_of(opened(room_with(tmp_path, (found, [("0", "2", 48, 6, 8)]))))
    assert places(view) == [(2, 5), (6, 8)]
    assert view.said == ""


def test_where_found_places_cannot_be_held_together_it_is_said(tmp_path: Path) -> None:
    # G4 on fret 12 over C3 held on fret 3: nine frets apart.
    found: list[Given] = [("0", "1", 64, 1, 0), ("1", "1", 67, 3, 12)]
    view = view_of(opened(room_with(tmp_path, (found, [("0", "2", 48, 5, 3)]))))
    assert view.said == "Not all notes can stay where you found them: 1 moved."


def test_the_strip_and_the_arrows_lead_from_onset_to_onset(tmp_path: Path) -> None:
    presenter = opened(room_with(tmp_path))
    presenter.choose_moment(LineKind.BASS, Fraction(9, 2))
    assert view_of(presenter).moment.startswith("Bar 2, beat 1")
    assert view_of(presenter).strip.chosen == (LineKind.BASS, Fraction(4))
    presenter.step(-1)
    assert view_of(presenter).moment.startswith("Bar 1, beat 3")
    for _ in range(9):
        presenter.step(1)
    assert view_of(presenter).moment.startswith("Bar 2, beat 3")


# --- moving a note -----------------------------------------------------------------------------------------


def test_a_moved_note_moves_the_rest_and_says_what_it_costs(tmp_path: Path) -> None:
    presenter = opened(room_with(tmp_path))
    presenter.tap(6, 8)
    view = view_of(presenter)
    assert place_of(view, LineKind.BASS) == (6, 8)
    assert view.said.startswith("That costs a shift at bar 2")
    presenter.tap(5, 3)
    assert view_of(presenter).said.startswith("That is easier by a shift at bar 2.")
    assert place_of(view_of(presenter), LineKind.BASS) == (5, 3)


def test_a_move_is_taken_back_as_it_was(tmp_path: Path) -> None:
    presenter = opened(room_with(tmp_path))
    before = view_of(presenter)
    presenter.tap(6, 8)
    assert place_of(view_of(presenter), LineKind.BASS) == (6, 8)
    presenter.take_back()
    assert places(view_of(presenter)) == places(before)
    assert not view_of(presenter).can_take_back


def test_a_place_out_of_reach_is_hatched_with_its_mm_and_refused_with_them(tmp_path: Path) -> None:
    # B4 at string 1 fret 7, and G3 pressed; E5 at fret 12 follows while it is held.
    presenter = opened(room_with(tmp_path, TOO_WIDE))
    view = view_of(presenter)
    far = next(other for other in view.neck.places if other.too_far_mm is not None)
    assert (far.kind, far.string, far.fret, far.out_of_reach) == (LineKind.BASS, 4, 5, True)
    # Equal temperament: fret n lies L (1 − 2^(−n/12)) from the nut; the held G3 and E5 at fret 12.
    assert far.too_far_mm == pytest.approx(fret_mm(12) - fret_mm(5), abs=0.1)
    presenter.tap(far.string, far.fret)
    said = view_of(presenter).said
    assert f"{far.too_far_mm:.0f} mm apart" in said
    assert f"spans {STARTER.spans.index_little:.0f} mm" in said
    assert places(view_of(presenter)) == places(view)


def test_a_third_note_is_refused_onto_the_list_for_next_time(tmp_path: Path) -> None:
    room = room_with(tmp_path)
    presenter = opened(room)
    for _ in range(2):
        presenter.tap(3, 1)
        assert view_of(presenter).said == THIRD_NOTE
    (idea,) = room.events(IdeaNoted)
    assert "string 3, fret 1" in idea.text


def test_a_note_is_dragged_only_to_its_own_places(tmp_path: Path) -> None:
    presenter = opened(room_with(tmp_path))
    presenter.drag(LineKind.BASS, 6, 8)
    assert place_of(view_of(presenter), LineKind.BASS) == (6, 8)
    presenter.drag(LineKind.BASS, 6, 9)
    assert "its own places" in view_of(presenter).said
    assert place_of(view_of(presenter), LineKind.BASS) == (6, 8)


def test_a_moved_note_is_solved_at_once_without_a_job(tmp_path: Path) -> None:
    presenter = opened(room_with(tmp_path))
    presenter._jobs = None  # type: ignore[assignment]
    presenter.tap(2, 5)
    presenter.wish_barre("no")
    assert place_of(view_of(presenter), LineKind.MELODY) == (2, 5)


# --- fingers, ways, wishes ---------------------------------------------------------------------------------


def test_a_tapped_note_tells_its_finger_and_takes_another(tmp_path: Path) -> None:
    presenter = opened(room_with(tmp_path))
    presenter.tap(5, 3)
    view = view_of(presenter)
    assert view.tool is Tool.NOTE
    assert view.note is not None
    assert view.note.words == "The bass's C on string 5, fret 3: first finger, plucked with the thumb (p)."
    assert set(view.note.fingers) >= {1, 2}
    presenter.choose_finger("2")
    note = view_of(presenter).note
    assert note is not None
    assert note.finger == 2
    assert place_of(view_of(presenter), LineKind.BASS) == (5, 3)


def test_the_three_best_ways_are_told_apart_in_sentences(tmp_path: Path) -> None:
    presenter = opened(room_with(tmp_path))
    presenter.open_tool("ways")
    view = view_of(presenter)
    assert len(view.ways) == len(set(view.ways)) == 3
    assert view.ways[0].startswith("The easiest: ")
    assert view.way == 0
    presenter.choose_way("2")
    assert view_of(presenter).way == 2
    presenter.choose_way("0")
    assert view_of(presenter).way == 0


def test_no_barre_and_a_highest_fret_are_kept_exactly(tmp_path: Path) -> None:
    presenter = opened(room_with(tmp_path))
    presenter.wish_below("7")
    presenter.wish_barre("no")
    view = view_of(presenter)
    assert (view.below_fret, view.no_barre) == (7, True)
    shown = presenter._shown
    assert shown is not None
    assert all(note.place.fret < 7 for note in shown.fingering.notes)
    assert not any(hand.barre for hand in shown.fingering.hand)
    assert all(other.out_of_reach for other in view.neck.places if other.fret >= 7)


def test_a_wish_that_needs_a_change_offers_it_and_can_be_taken_back(tmp_path: Path) -> None:
    presenter = opened(room_with(tmp_path))
    before = view_of(presenter)
    presenter.wish_below("5")  # A4 lies on fret 5 at the lowest
    view = view_of(presenter)
    assert view.action == "Use this change"
    assert view.blocked
    assert "below the fret" in view.blocked[0]
    assert view.offers
    presenter.take_back()
    assert view_of(presenter).neck == before.neck
    assert view_of(presenter).below_fret is None


# --- changes -----------------------------------------------------------------------------------------------


def test_a_change_is_shown_but_never_applied_unasked(tmp_path: Path) -> None:
    room = room_with(tmp_path, TOO_WIDE)
    presenter = opened(room)
    view = view_of(presenter)
    assert view.tool is Tool.WAYS
    assert view.blocked[0].startswith("The tune's note B4 (bar 1) and the bass note G2 (bar 1) lie ")
    assert view.offers[0] == "In bar 1 G2 an octave higher. Price: 2."
    assert 1 < len(view.offers) <= 4
    prices = [float(words.split("Price: ")[1][:-1]) for words in view.offers]
    assert all(one <= other for one, other in pairwise(prices))
    presenter.choose_offer("1")
    presenter.choose_offer("0")
    presenter.act()
    assert view_of(presenter).action == "Good enough for now"
    assert room.events(TogetherSettled) == []
    presenter.act()
    (settled,) = room.events(TogetherSettled)
    assert settled.changes == ("G2 an octave higher",)
    assert [note.midi for note in room.events(LineWritten)[-1].notes] == [55]
    assert went(presenter) == [("play", {"section": "A"})]


def test_a_line_put_in_register_costs_nothing_and_is_told(tmp_path: Path) -> None:
    presenter = opened(room_with(tmp_path, HIGH))
    view = view_of(presenter)
    assert view.sentence == "Your hand can play both lines, the tune two octaves lower. That costs nothing."
    assert view.action == "Good enough for now"
    assert view.offers == ("The tune two octaves lower. At no price.",)


def test_another_key_holds_for_the_whole_piece(tmp_path: Path) -> None:
    room = room_with(tmp_path)
    presenter = opened(room)
    presenter.wish_below("5")
    offer = next(i for i, words in enumerate(view_of(presenter).offers) if words.startswith("Everything 1"))
    presenter.choose_offer(str(offer))
    presenter.act()
    presenter.act()
    key = room.events(KeyChosen)[-1]
    assert (key.key, key.shift_semitones) == ("B", -1)
    piece = room.journal.progress.piece
    assert piece is not None
    section = piece.section("A")
    assert section is not None
    assert [note.midi for note in section.melody.notes] == [midi - 1 for _, _, midi, *_ in EASY[0]]


def test_a_string_let_down_becomes_the_players_tuning(tmp_path: Path) -> None:
    room = room_with(tmp_path, TOO_WIDE)
    presenter = opened(room)
    words = view_of(presenter).offers
    presenter.choose_offer(str(next(i for i, said in enumerate(words) if said.startswith("String 6"))))
    assert view_of(presenter).neck.string_names[-1] == "D"
    presenter.act()
    presenter.act()
    assert room.services.current_settings().tuning == STANDARD.lowered(6).strings


def test_what_no_change_mends_is_said(tmp_path: Path) -> None:
    presenter = opened(room_with(tmp_path, ([("0", "1", 120)], [("0", "4", 3)])))
    view = view_of(presenter)
    assert view.sentence.endswith("no change within reach mends it.")
    assert view.action == ""
    assert view.neck.notes == ()
    presenter.act()
    presenter.tap(1, 1)
    assert view_of(presenter).said == ""


# --- the rest ----------------------------------------------------------------------------------------------


def test_both_lines_come_first(tmp_path: Path) -> None:
    presenter = TogetherPresenter(room_with(tmp_path), "B", Now(), InlineRunner(), Went())
    presenter.opened()
    assert isinstance(presenter.view, Empty)
    presenter.act()
    assert went(presenter) == [("piece", {})]


def test_the_way_and_the_writing_are_heard_slower_or_faster(tmp_path: Path) -> None:
    room = room_with(tmp_path, TOO_WIDE)
    room.world.output.open()
    presenter = opened(room)
    lengths = []
    for what, speed in ((Sounding.WAY, "1.0"), (Sounding.WRITTEN, "0.5")):
        presenter.set_speed(speed)
        presenter.hear(what)
        assert view_of(presenter).sounding is what
        lengths.append(presenter._sound.length_s)
        presenter.hear(what)
        assert view_of(presenter).sounding is Sounding.NOTHING
    assert lengths[1] == pytest.approx(2 * lengths[0], abs=0.01)


def test_the_players_own_tuning_names_the_strings(tmp_path: Path) -> None:
    dropped = STANDARD.lowered(6)
    view = view_of(opened(room_with(tmp_path, tuning=dropped.strings)))
    assert view.neck.string_names == ("E", "B", "G", "D", "A", "D")
    assert replace(dropped) == Tuning((38, 45, 50, 55, 59, 64))


@pytest.mark.parametrize("lines", [TOO_WIDE, HIGH, EASY])
@pytest.mark.parametrize("below", [None, 5])
def test_every_way_offered_is_playable_as_it_stands_once_settled(
    tmp_path: Path, lines: tuple[list[Given], list[Given]], below: int | None
) -> None:
    offers = 1
    index = 0
    while index < offers:
        room = room_with(tmp_path / str(index), lines)
        presenter = opened(room)
        if below is not None:
            presenter.wish_below(str(below))
        offers = max(1, len(view_of(presenter).offers))
        if view_of(presenter).offers:
            presenter.choose_offer(str(index))
        shown = presenter._shown
        assert shown is not None
        wanted = [(note.line, note.note.midi, note.place) for note in shown.fingering.notes]
        if view_of(presenter).action == "Use this change":
            presenter.act()
        presenter.act()
        again = NeckDesk(room.journal, Hand.of(room.services.current_settings()), "A").explore(
            where_found=True
        )
        assert isinstance(again, Exploring)
        assert [(note.line, note.note.midi, note.place) for note in again.fingering.notes] == wanted
        assert again.fingering.neck == shown.fingering.neck
        index += 1
