import random
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings

from coach.fretboard import REACHES, SEASONED, Fingering, Freedom, Neck, NoteId, NoteWish, Wishes, solve
from coach.fretboard.least import Fits, least_price
from coach.fretboard.score import Score
from coach.notation import Arrangement, Line, LineKind, Note, Place
from coach.pieces.change_kinds import PRICES, ChangeKind
from coach.pieces.change_plan import Plan, Register, plans
from coach.pieces.change_search import Hooks, Proposal
from coach.pieces.changes import Mended, mend, registered
from tests.fretboard.pieces import KEY, arrangement_of, chance_piece
from tests.strategies import two_lines

HIGH_OVER_LOW = ([("0", "1", 71), ("1", "1", 72), ("2", "2", 76)], [("0", "4", 43)])
"""B4 C5 E5 over a held G2: too far apart for any hand at the seventh fret and above."""


def kinds(proposal: Proposal) -> list[str]:
    return [change.kind.value for change in proposal.changes]


def best_of(mended: Mended) -> Proposal:
    assert mended.best is not None
    return mended.best


def test_what_can_be_played_is_left_alone() -> None:
    piece = arrangement_of([("0", "1", 64), ("1", "1", 67)], [("0", "2", 48)])
    mended = mend(piece)
    assert mended.as_written
    assert mended.blocked == ()
    assert best_of(mended).changes == ()
    assert best_of(mended).arrangement == piece


def test_without_changes_only_the_reasons_are_told() -> None:
    mended = mend(arrangement_of(*HIGH_OVER_LOW), changes=False)
    assert mended.best is None
    assert mended.blocked
    assert not mended.as_written


def test_whole_lines_come_into_register_at_no_price() -> None:
    piece = arrangement_of([("0", "1", 84), ("1", "1", 81)], [("0", "2", 36)])
    moved, register = registered(piece, Neck())
    assert (register.melody, register.bass) == (-1, 1)
    assert [note.midi for note in moved.melody] == [72, 69]
    best = best_of(mend(piece))
    assert {ChangeKind.MELODY_OCTAVE, ChangeKind.BASS_OCTAVE} == {change.kind for change in best.changes}
    assert best.price == 0
    assert best.arrangement.melody.notes[0].pitch.name == "C5"


def test_letting_the_bass_go_early_is_the_cheapest() -> None:
    # G2 can be held under G4 on the first beat only; its other bars are easy.
    piece = arrangement_of([("0", "1", 67), ("1", "1", 71)], [("0", "2", 43)])
    best = best_of(mend(piece))
    assert kinds(best) == ["shorten_bass"]
    (change,) = best.changes
    assert (change.line, change.onset) == (LineKind.BASS, 0)
    assert change.price == PRICES.shorten_quarter
    assert "1 instead of 2" in change.detail
    assert best.arrangement.bass.notes[0].duration == 1


def test_a_bass_note_goes_up_an_octave_where_that_is_least() -> None:
    mended = mend(arrangement_of(*HIGH_OVER_LOW))
    assert kinds(best_of(mended)) == ["bass_note_octave"]
    assert best_of(mended).arrangement.bass.notes[0].pitch.name == "G3"
    assert mended.proven
    assert mended.word == "the smallest change there is"


def test_alternatives_come_by_price_and_none_only_adds_to_another() -> None:
    rng = random.Random(2)
    seen = 0
    while seen < 5:
        mended = mend(chance_piece(rng, 6, high=79))
        if mended.as_written or not mended.alternatives:
            continue
        seen += 1
        shown = [best_of(mended), *mended.alternatives]
        prices = [proposal.price for proposal in shown]
        assert prices == sorted(prices)
        assert len(shown) <= 4
        for at, earlier in enumerate(shown):
            for later in shown[at + 1 :]:
                mine = {change.what for change in earlier.changes}
                assert not mine or not mine <= {change.what for change in later.changes}


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(two_lines(most=6))
def test_prices_add_up_and_the_changed_lines_can_be_played(piece: Arrangement) -> None:
    mended = mend(piece)
    assert mended.as_written == (not mended.blocked)
    if mended.best is None:
        return
    for proposal in (mended.best, *mended.alternatives):
        assert proposal.price == sum((change.price for change in proposal.changes), Fraction(0))
        neck = proposal.fingering.neck
        again = solve(proposal.arrangement, tuning=neck.tuning, capo=neck.capo)
        assert isinstance(again, Fingering)
        assert proposal.arrangement.capo == neck.capo
        assert len(proposal.arrangement.melody) == len(piece.melody)
        assert len(proposal.arrangement.bass) == len(piece.bass)


def test_no_plan_for_the_whole_piece_is_cheaper_than_the_best() -> None:
    """Each plan solved strictly on its own: the best total is never above the cheapest that works."""
    rng = random.Random(6)
    seen = 0
    while seen < 5:
        piece = chance_piece(rng, 6, high=74)
        mended = mend(piece)
        if mended.as_written or best_of(mended).price == 0:
            continue
        seen += 1
        assert mended.proven
        for plan in plans(0, Register())[:80]:
            price = plan.price(0, Register())
            if price >= best_of(mended).price:
                break
            lines = [
                Line.of(line.kind, [_shifted(note, plan, line.kind) for note in line]) for line in piece.lines
            ]
            changed = piece.with_line(lines[0]).with_line(lines[1])
            tuning = plan.tuned(Neck().tuning)
            assert not isinstance(solve(changed, tuning=tuning, capo=plan.capo), Fingering)


def test_the_best_total_is_the_least_over_every_plan() -> None:
    """All plans priced one by one, without leaving any out early."""
    rng = random.Random(21)
    seen = 0
    while seen < 2:
        piece = chance_piece(rng, 4, low=36, high=82)
        mended = mend(piece)
        if mended.as_written or best_of(mended).price == 0:
            continue
        seen += 1
        placed, register = registered(piece, Neck())
        totals = []
        for plan in plans(0, register):
            lines = [
                Line.of(line.kind, [_shifted(note, plan, line.kind) for note in line])
                for line in placed.lines
            ]
            changed = piece.with_line(lines[0]).with_line(lines[1])
            freedom = Freedom(PRICES.shorten_quarter, PRICES.bass_note_octave, piece.meter.beat)
            neck = Neck(plan.tuned(Neck().tuning), plan.capo)
            least = least_price(Score.of(changed, freedom), Fits(neck)).price
            if least is not None:
                totals.append(plan.price(0, register) + least)
        assert best_of(mended).price == min(totals)


def _shifted(note: Note, plan: Plan, kind: LineKind) -> Note:
    octaves = plan.melody if kind is LineKind.MELODY else plan.bass
    return Note(note.onset, note.duration, KEY.spell(note.midi + plan.semitones + 12 * octaves))


def test_notes_at_the_ends_of_midi_are_no_trouble() -> None:
    mended = mend(arrangement_of([("0", "1", 127), ("1", "1", 0)], [("0", "1", 0), ("1", "1", 127)]))
    assert mended.best is None
    assert mended.proven
    assert mended.word == "no change is enough"


@pytest.mark.parametrize("midi", [115, 118, 119, 120, 121, 127])
def test_a_tune_far_above_any_neck_cannot_be_played_and_is_no_fault(midi: int) -> None:
    # An octave more would leave the note numbers of MIDI 1.0 (0 to 127) before six frets less bring it back.
    mended = mend(arrangement_of([("0", "1", midi), ("1", "1", midi)], [("0", "2", 40)]))
    assert mended.best is None
    assert mended.proven
    assert [conflict.notes[0].line for conflict in mended.blocked] == [LineKind.MELODY] * 2


def test_the_cheapest_plan_changes_nothing() -> None:
    for register in (Register(), Register(-1, 1)):
        every = plans(3, register)
        assert every[0] == Plan(capo=3)
        prices = [plan.price(3, register) for plan in every]
        assert prices == sorted(prices)


def test_leaving_a_line_where_it_was_written_costs_nothing() -> None:
    # With the capo F5 lies a fret too high; an octave lower D3 would be off the neck. A fret lower will do.
    piece = arrangement_of([("0", "1", 77), ("2", "1", 50)], [], capo=2)
    best = best_of(mend(piece))
    assert kinds(best) == ["transpose"]
    assert best.price == PRICES.transpose + PRICES.transpose_fret


def test_places_the_player_chose_are_kept_if_they_can_be() -> None:
    piece = arrangement_of([("0", "1", 64)], [("0", "1", 43)])
    placed = piece.with_line(
        Line.of(LineKind.MELODY, [Note(n.onset, n.duration, n.pitch, Place(2, 5)) for n in piece.melody])
    )
    mended = mend(placed)
    assert mended.as_written
    assert best_of(mended).fingering.notes[0].place == Place(2, 5)
    too_far = placed.with_line(
        Line.of(LineKind.MELODY, [Note(n.onset, n.duration, n.pitch, Place(3, 9)) for n in piece.melody])
    )
    mended = mend(too_far)
    assert not mended.as_written
    assert mended.blocked
    assert best_of(mended).changes == ()


def test_wishes_hold_through_changes() -> None:
    piece = arrangement_of(*HIGH_OVER_LOW)
    mended = mend(piece, wishes=Wishes(below_fret=5))
    assert best_of(mended).fingering.highest_fret < 5
    wish = NoteWish(NoteId(LineKind.MELODY, 0), Place(1, 7))
    assert mend(piece, wishes=Wishes(notes=(wish,))).best is not None


def test_the_first_way_is_told_and_the_search_can_be_stopped() -> None:
    told: list[Proposal] = []
    shares: list[float] = []
    piece = arrangement_of(*HIGH_OVER_LOW)
    mend(piece, hooks=Hooks(on_first=told.append, on_progress=shares.append))
    assert len(told) == 1
    assert shares == sorted(shares)
    stopped = mend(piece, hooks=Hooks(cancelled=lambda: True))
    assert stopped.best is None
    assert not stopped.proven
    assert stopped.word.startswith("searched up to")


@pytest.mark.parametrize("reach", ["starter", "seasoned"])
def test_a_slow_bass_under_any_tune_can_be_mended(reach: str) -> None:
    rng = random.Random(12)
    for _ in range(10):
        assert mend(chance_piece(rng, 16, high=84), reach=REACHES[reach]).best is not None


def test_a_seasoned_hand_pays_no_more() -> None:
    rng = random.Random(13)
    for _ in range(6):
        piece = chance_piece(rng, 6, high=76)
        small, wide = best_of(mend(piece)), best_of(mend(piece, reach=SEASONED))
        assert wide.price <= small.price
