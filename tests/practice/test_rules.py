"""No sequence of accepted events leads past the rules, counted from the events alone and not by the fold."""

import math
from collections import Counter
from fractions import Fraction

import pytest
from hypothesis import event as seen
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.practice.events import (
    Event,
    GridSet,
    HintTaken,
    IdeaNoted,
    KeyChosen,
    LineReopened,
    LineSettled,
    LineWritten,
    NoteChecked,
    NoteRecord,
    PieceChosen,
    PieceFinished,
    PieceSetAside,
    PieceTakenUp,
    PlayedSettled,
    PlayedThrough,
    ReplyOpened,
    SectionRecord,
    SectionsSet,
    SmallerAccepted,
    TakeKept,
    TimeSpent,
    TogetherSettled,
)
from coach.practice.fold import fold, fold_all
from coach.practice.limits import limits_after
from coach.practice.progress import Progress
from coach.practice.rules import allowed
from coach.practice.stages import Stage
from tests.practice_steps import begun, finished, logged, notes, progress_of, record, section_done

PIECES = st.sampled_from(["p", "q"])
SECTIONS = st.sampled_from(["A", "B", "C"])
LINES = st.sampled_from(["melody", "bass", "middle"])
TIMES = st.integers(0, 96).map(lambda eighths: Fraction(eighths, 2))
NOTES = st.lists(
    st.builds(
        NoteRecord, TIMES, st.sampled_from([Fraction(1, 2), Fraction(1), Fraction(4)]), st.integers(40, 44)
    ),
    max_size=3,
).map(tuple)
CUTS = st.lists(st.tuples(SECTIONS, st.integers(0, 9), st.integers(1, 10)), min_size=1, max_size=3).map(
    lambda cuts: tuple(SectionRecord(n, Fraction(4 * at), Fraction(4 * (at + bars))) for n, at, bars in cuts)
)
NAMES = st.lists(SECTIONS, max_size=2).map(tuple)
ANY = st.one_of(
    st.builds(PieceChosen, PIECES, st.just("T"), st.none()),
    st.builds(PieceSetAside, PIECES, st.sampled_from(["", "too hard"])),
    st.builds(PieceTakenUp, PIECES),
    st.builds(GridSet, PIECES, st.sampled_from(["4/4", "2/4", "no"]), TIMES, st.just(()), st.just(())),
    st.builds(SectionsSet, PIECES, CUTS),
    st.builds(KeyChosen, PIECES, st.just("G"), st.just(0), st.integers(-3, 3), st.just(0.0)),
    st.builds(LineWritten, PIECES, SECTIONS, LINES, NOTES),
    st.builds(NoteChecked, PIECES, SECTIONS, LINES, st.just(0.0), st.just(1.0), st.just(60), st.just("heard"),
              st.none(), st.just(1.0)),
    st.builds(HintTaken, PIECES, SECTIONS, LINES, st.just(0.0), st.just(1.0), st.just(60), st.just("near")),
    st.builds(LineSettled, PIECES, SECTIONS, LINES),
    st.builds(LineReopened, PIECES, SECTIONS, LINES),
    st.builds(TogetherSettled, PIECES, SECTIONS),
    st.builds(PlayedThrough, PIECES, st.none() | SECTIONS, st.just("both"), st.just(60.0)),
    st.builds(PlayedSettled, PIECES, SECTIONS),
    st.builds(TakeKept, PIECES, st.just("t.flac"), st.sampled_from([0.0, 9.0])),
    st.builds(PieceFinished, PIECES),
    st.builds(IdeaNoted, PIECES, st.just("a third voice")),
    st.builds(SmallerAccepted, PIECES, st.just("less"), NAMES),
    st.builds(ReplyOpened, PIECES, st.just("well"), NOTES, st.none() | LINES, NAMES, st.integers(-1, 2)),
)  # fmt: skip


def next_step(progress: Progress) -> Event:  # noqa: PLR0911 - one a stage
    """The straight way to the finish, so that random logs get there."""
    piece = progress.piece
    if piece is None:
        fresh = [name for name in ("p", "q") if name not in progress.pieces]
        return PieceChosen(fresh[0], "T", None) if fresh else PieceTakenUp("p")
    if not piece.sections:
        return SectionsSet(piece.piece, (record("A", 2), record("B", 2, 8)))
    section = piece.next_section
    if section is None:
        return PieceFinished(piece.piece) if piece.takes else TakeKept(piece.piece, "t.flac", 9.0)
    name = section.name
    match section.next_stage:
        case Stage.MELODY | Stage.BASS as stage:
            if section.line(stage.value).notes:
                return LineSettled(piece.piece, name, stage.value)
            return LineWritten(piece.piece, name, stage.value, notes(int(section.onset), 60, 62))
        case Stage.TOGETHER:
            return TogetherSettled(piece.piece, name)
        case _:
            return PlayedSettled(piece.piece, name)


def side_steps(progress: Progress) -> list[Event]:
    """Detours on the way, most of them allowed."""
    piece = progress.piece
    if piece is None or not piece.sections:
        return [next_step(progress)]
    lines = [(section.name, line) for section in piece.sections for line in ("melody", "bass")]
    last, all_sections = piece.sections[-1], (record("A", 2), record("B", 2, 8))
    long = NoteRecord(piece.sections[0].onset, Fraction(12), 62)
    return [
        LineWritten(piece.piece, piece.sections[0].name, "melody", (long,)),
        ReplyOpened(piece.piece, "", dropped_sections=(last.name,)),
        SectionsSet(piece.piece, all_sections),
        *(LineReopened(piece.piece, name, line) for name, line in lines),
        *(LineWritten(piece.piece, name, line, notes(0, 60, 61)) for name, line in lines),
        TakeKept(piece.piece, "t.flac", 9.0),
        PieceFinished(piece.piece),
        ReplyOpened(piece.piece, "", extra_reopenings=1),
    ]


class Accepted:
    """Plain counts over accepted events, kept apart from the code under test."""

    def __init__(self) -> None:
        self.held: set[str] = set()
        self.done: set[str] = set()
        self.reopened: Counter[tuple[str, str, str]] = Counter()
        self.granted: Counter[str] = Counter()
        self.takes: Counter[str] = Counter()
        self.settled: set[tuple[str, str, str]] = set()
        self.played: set[tuple[str, str]] = set()

    def see(self, event: Event) -> None:
        match event:
            case PieceChosen(piece=piece) | PieceTakenUp(piece=piece):
                self.held.add(piece)
                assert len(self.held) == 1
                assert piece not in self.done
            case PieceSetAside(piece=piece, reason=reason):
                assert reason
                self.held.remove(piece)
            case LineSettled(piece=piece, section=section, line=line):
                self.settled.add((piece, section, line))
            case LineReopened(piece=piece, section=section, line=line):
                assert (piece, section, line) in self.settled
                self.settled.remove((piece, section, line))
                self.played.discard((piece, section))
                self.reopened[piece, section, line] += 1
                assert self.reopened[piece, section, line] <= 2 + self.granted[piece]
            case PlayedSettled(piece=piece, section=section):
                assert {(piece, section, "melody"), (piece, section, "bass")} <= self.settled
                self.played.add((piece, section))
            case ReplyOpened(piece=piece, extra_reopenings=extra):
                assert extra in {0, 1}
                self.granted[piece] += extra
            case TakeKept(piece=piece, duration_s=duration_s):
                assert duration_s > 0
                self.takes[piece] += 1
            case PieceFinished(piece=piece):
                assert self.takes[piece]
                self.held.remove(piece)
                self.done.add(piece)

    def see_before(self, progress: Progress, event: Event) -> None:
        """What needs to know the sections as they are: depth first, and every one played at the finish."""
        piece = progress.piece
        if piece is None:
            return
        names = [section.name for section in piece.sections]
        match event:
            case LineWritten(section=section) | NoteChecked(section=section) | HintTaken(section=section):
                current = piece.section(section)
                assert current is not None
                if not current.begun:
                    before = names[: names.index(section)]
                    assert all((piece.piece, name) in self.played for name in before)
            case PieceFinished():
                assert names
                assert all((piece.piece, name) in self.played for name in names)


def most_sounding(progress: Progress, piece: str) -> int:
    """The largest number of notes that the arrangement holds at any one time."""
    held = [
        note
        for section in progress.pieces[piece].sections
        for line in (section.melody, section.bass)
        for note in line.notes
    ]
    return max(
        (sum(note.onset <= at.onset < note.onset + note.duration for note in held) for at in held), default=0
    )


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_no_sequence_of_accepted_events_leads_past_the_rules(data: st.DataObject) -> None:
    progress, accepted, kept = Progress(), Accepted(), list[Event]()
    for way in data.draw(
        st.lists(st.sampled_from("nnnnsa"), min_size=data.draw(st.sampled_from([0, 40])), max_size=90)
    ):
        match way:
            case "n":
                event = next_step(progress)
            case "s":
                event = data.draw(st.sampled_from(side_steps(progress)))
            case _:
                event = data.draw(ANY)
        if allowed(progress, event) is not None:
            continue
        accepted.see_before(progress, event)
        accepted.see(event)
        kept.append(event)
        progress = fold(progress, list(logged(kept))[-1])
        assert {progress.in_hand} - {None} == accepted.held
        for name, piece in progress.pieces.items():
            assert most_sounding(progress, name) <= 2
            most = limits_after(len(progress.finished)).most_bars
            assert piece.piece != progress.in_hand or piece.bars <= most + float(
                piece.pickup / piece.meter.bar
            )
    assert progress == fold_all(logged(kept))
    seen(f"finished {len(progress.finished)}, most reopened {max(accepted.reopened.values(), default=0)}")


def refusal(*events: Event) -> str:
    """Why the last event may not come after the others."""
    *before, last = events
    error = allowed(progress_of(*before), last)
    assert error is not None
    return error.message


def test_a_whole_piece_is_allowed_from_beginning_to_end() -> None:
    progress = Progress()
    for each in logged((*finished("p"), *finished("q"))):
        assert allowed(progress, each.event) is None
        progress = fold(progress, each)
    assert [piece.piece for piece in progress.finished] == ["p", "q"]


def test_a_second_piece_waits() -> None:
    assert "finish it or set it aside" in refusal(*begun("p"), PieceChosen("q", "Q", None))


def test_b_waits_for_a() -> None:
    write_b = LineWritten("p", "B", "melody", notes(16, 60))
    assert "Section A comes first" in refusal(*begun(), write_b)
    assert "Section A comes first" in refusal(*begun(), *section_done("A")[:-1], write_b)
    assert allowed(progress_of(*begun(), *section_done("A")), write_b) is None


def test_a_reopened_section_does_not_hold_up_the_one_under_way() -> None:
    write_b = LineWritten("p", "B", "melody", notes(16, 60))
    done = (*begun(), *section_done("A"), write_b, LineReopened("p", "A", "bass"))
    assert allowed(progress_of(*done), write_b) is None
    assert "not good enough" in refusal(*done, PieceFinished("p"))


def test_two_reopenings_and_a_third_by_the_teacher() -> None:
    again = (LineReopened("p", "A", "bass"), LineSettled("p", "A", "bass"))
    done = (*begun(), *section_done("A"), *again, *again)
    assert "leave it as it is" in refusal(*done, again[0])
    granted = (*done, ReplyOpened("p", "Once more!", extra_reopenings=1))
    assert allowed(progress_of(*granted), again[0]) is None
    assert "leave it as it is" in refusal(*granted, *again, again[0])


def test_a_settled_line_may_lie_otherwise_but_keeps_its_notes() -> None:
    done = progress_of(*begun(), *section_done("A"))
    octave_up = LineWritten("p", "A", "melody", notes(0, 72, 62, 64))
    higher = LineWritten("p", "A", "melody", notes(0, 62, 64, 66))
    other = LineWritten("p", "A", "melody", notes(0, 60, 62, 65))
    fewer = LineWritten("p", "A", "melody", notes(0, 60, 62))
    assert [allowed(done, event) is None for event in (octave_up, higher, other, fewer)] == [
        True,
        True,
        False,
        False,
    ]
    single = LineWritten("p", "A", "bass", notes(0, 50))
    assert allowed(done, single) is not None


@pytest.mark.parametrize("line", ["melody", "bass"])
def test_one_note_at_a_time_over_the_whole_piece(line: str) -> None:
    long = (NoteRecord(Fraction(15), Fraction(2), 60),)
    touched = NoteChecked("p", "B", line, 0.0, 1.0, 60, "heard", None, 1.0)
    after = (*begun(), *section_done("A"), touched)
    reopened = (*after, LineReopened("p", "A", line), LineWritten("p", "A", line, long))
    assert "two notes would sound at once" in refusal(*reopened, LineWritten("p", "B", line, notes(16, 60)))
    assert allowed(progress_of(*reopened), LineWritten("p", "B", line, notes(17, 60))) is None


def test_a_third_line_goes_onto_the_list() -> None:
    assert "next time" in refusal(*begun(), LineWritten("p", "A", "middle", notes(0, 60)))
    assert progress_of(*begun(), IdeaNoted("p", "a middle voice")).pieces["p"].ideas == ("a middle voice",)


def test_the_limit_of_bars_widens_with_each_finished_piece() -> None:
    pieces: list[Event] = []
    for count, most in enumerate((16, 16, 16, 32, 32, 32)):
        cut = [record(f"S{i}", 4, 16 * i) for i in range(most // 4)]
        name = f"piece{count}"
        progress = progress_of(*pieces, PieceChosen(name, name, None))
        assert allowed(progress, SectionsSet(name, tuple(cut))) is None
        more = (*cut, record("More", 1, 4 * most))
        error = allowed(progress, SectionsSet(name, more))
        assert error is not None
        assert "widens with each finished piece" in error.message
        pieces += finished(name)


def test_a_take_and_a_finish_need_their_sections() -> None:
    done_a = (*begun(), *section_done("A"))
    assert "all sections" in refusal(*done_a, TakeKept("p", "t.flac", 9.0))
    both = (*done_a, *section_done("B", 16))
    assert "Record the whole piece" in refusal(*both, PieceFinished("p"))
    assert allowed(progress_of(*both, TakeKept("p", "t.flac", 9.0)), PieceFinished("p")) is None


def test_begun_sections_stay_and_later_ones_may_be_given_up() -> None:
    at_work = (*begun(), *section_done("A")[:1])
    assert "keep it as it is" in refusal(*at_work, SectionsSet("p", (record("A", 2), record("B", 4, 16))))
    assert "is begun" in refusal(*at_work, SmallerAccepted("p", "without A", ("A",)))
    assert "One section" not in refusal(*begun(), SmallerAccepted("p", "without all", ("A", "B")))
    smaller = progress_of(*at_work, SmallerAccepted("p", "without B", ("B",)))
    assert [section.name for section in smaller.pieces["p"].sections] == ["A"]
    assert [section.name for section in smaller.pieces["p"].dropped] == ["B"]


def test_a_section_that_comes_back_does_not_sound_into_a_line_that_grew() -> None:
    both = (record("A", 4), record("B", 4, 16))
    at = (
        *begun(),
        *section_done("A"),
        LineWritten("p", "B", "melody", notes(16, 60)),
        LineWritten("p", "B", "bass", notes(16, 40)),
        ReplyOpened("p", "Only A for now.", dropped_sections=("B",)),
        LineReopened("p", "A", "melody"),
    )
    grown = LineWritten("p", "A", "melody", (NoteRecord(Fraction(2), Fraction(16), 64),))
    refusal = allowed(progress_of(*at, grown), SectionsSet("p", both))
    assert refusal is not None
    assert "sounds into that of section B" in refusal.message
    shorter = LineWritten("p", "A", "melody", (NoteRecord(Fraction(2), Fraction(14), 64),))
    assert allowed(progress_of(*at, shorter), SectionsSet("p", both)) is None


@pytest.mark.parametrize("seconds", [-1.0, math.inf, math.nan])
def test_time_is_counted_forwards(seconds: float) -> None:
    assert allowed(progress_of(*begun()), TimeSpent("piece", seconds, "p", "A", Stage.BASS)) is not None


@pytest.mark.parametrize("note", [("0", "1", 900), ("0", "1", -1), ("0", "0", 60), ("-4", "1", 60)])
def test_a_reply_holds_only_notes_that_can_be(note: tuple[str, str, int]) -> None:
    onset, duration, midi = note
    corrected = (NoteRecord(Fraction(onset), Fraction(duration), midi),)
    refusal = allowed(progress_of(*begun()), ReplyOpened("p", "", corrected, "melody"))
    assert refusal is not None
    assert "ask your teacher" in refusal.message
