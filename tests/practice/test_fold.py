import hashlib
import json
from dataclasses import fields, is_dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Any, get_args, get_type_hints

from hypothesis import given
from hypothesis import strategies as st

from coach.practice.days import RECENT_ANSWERS, Day
from coach.practice.events import (
    AimSet,
    Calibrated,
    DrillAnswered,
    DrillPassed,
    Event,
    HintTaken,
    KeyChosen,
    LineReopened,
    LineWritten,
    LoggedEvent,
    NoteChecked,
    NoteRecord,
    PackOpened,
    PieceChosen,
    PieceSetAside,
    PieceTakenUp,
    PlayedThrough,
    ReplyOpened,
    ReportShared,
    SectionsSet,
    StringTuned,
    TimeSpent,
    VoiceHeard,
)
from coach.practice.fold import FOLD_VERSION, fold_all
from coach.practice.piece_state import Cell
from coach.practice.plain import from_plain, to_plain
from coach.practice.progress import Progress
from coach.practice.stages import SECTION_STAGES, Stage
from tests.event_strategies import events, moments
from tests.practice_steps import START, begun, finished, logged, notes, progress_of, record, section_done

KNOWN_SHAPE = (10, "ba62d92c1fce")


def answer(skill: str, *, credit: float, level: int = 1) -> DrillAnswered:
    return DrillAnswered("d", skill, level, "voice", 1, credit >= 0.5, credit, None, None, "sure")


@given(st.lists(st.tuples(events(), moments()), max_size=30))
def test_the_fold_takes_any_events_in_any_order(entries: list[tuple[Event, object]]) -> None:
    log = [LoggedEvent(i + 1, at, event) for i, (event, at) in enumerate(entries)]  # type: ignore[arg-type]
    progress = fold_all(log)
    assert progress.seq == len(log)
    days = [day.day for day in progress.days]
    assert days == sorted(set(days))
    assert from_plain(Progress, to_plain(progress)) == progress


def test_progress_survives_writing_and_reading() -> None:
    progress = progress_of(*finished("p"), *begun("q"), *section_done("A", piece="q")[:5])
    assert from_plain(Progress, to_plain(progress)) == progress


def test_cells_go_from_empty_over_begun_to_settled() -> None:
    def cells(*events: Event) -> list[Cell]:
        section = progress_of(*begun(), *events).pieces["p"].sections[0]
        return [section.cell(stage) for stage in SECTION_STAGES]

    steps = section_done("A")
    e, b, s = Cell.EMPTY, Cell.BEGUN, Cell.SETTLED
    assert cells() == [e, e, e, e]
    assert cells(*steps[:1]) == [b, e, e, e]
    assert cells(*steps[:3]) == [s, e, e, e]
    assert cells(*steps[:6]) == [s, s, e, e]
    assert cells(*steps) == [s, s, s, s]
    assert cells(*steps, LineReopened("p", "A", "melody")) == [b, s, b, b]


def test_the_next_section_is_the_one_under_way_then_the_first() -> None:
    piece = progress_of(*begun()).pieces["p"]
    assert piece.next_section is not None
    assert (piece.next_section.name, piece.next_section.next_stage) == ("A", Stage.MELODY)
    piece = progress_of(*begun(), *section_done("A")).pieces["p"]
    assert piece.next_section is not None
    assert piece.next_section.name == "B"
    assert progress_of(*finished()).pieces["p"].next_section is None


def test_time_goes_to_its_day_its_section_and_its_stage() -> None:
    progress = progress_of(
        *begun(),
        TimeSpent("tune", 60.0),
        TimeSpent("ear", 200.0),
        TimeSpent("piece", 300.0, "p", "A", Stage.MELODY),
        TimeSpent("piece", 30.0, "p", "A", Stage.MELODY),
        TimeSpent("rest", 50.0),
    )
    day = progress.day(START.date())
    assert (day.tune_s, day.ear_s, day.piece_s, day.rest_s, day.practice_s) == (60, 200, 330, 50, 590)
    assert progress.pieces["p"].sections[0].seconds == {Stage.MELODY: 330.0}
    assert progress.last_practised == START.date()


def test_time_on_the_whole_piece_counts_for_the_ending_once_every_section_is_good_enough() -> None:
    whole = TimeSpent("piece", 60.0, "p", None, Stage.PLAYED)
    done = (*begun(), whole, *section_done("A"), whole, *section_done("B", 16))
    assert progress_of(*done).pieces["p"].ending_s == 0
    assert progress_of(*done, whole, whole).pieces["p"].ending_s == 120


def test_checks_hints_and_play_throughs_are_counted() -> None:
    check = NoteChecked("p", "A", "melody", 0.0, 1.0, 60, "heard", None, 0.9)
    progress = progress_of(
        *begun(),
        check,
        NoteChecked("p", "A", "bass", 0.0, 1.0, 61, "not_heard", None, 0.9),
        HintTaken("p", "A", "melody", 0.0, 1.0, 61, "direction"),
        PlayedThrough("p", "A", "both", 60.0, 0.8, 3),
    )
    section = progress.pieces["p"].sections[0]
    assert (section.checks, section.hints, section.play_throughs) == (2, 1, 1)
    assert (section.right_share, section.hardest_bar) == (0.8, 3)
    day = progress.day(START.date())
    assert (day.checks, day.checks_heard, day.hints, day.play_throughs) == (2, 1, 1, 1)


def test_the_hardest_bar_of_the_whole_piece_waits_until_a_section_was_played() -> None:
    played = (*begun(), PlayedThrough("p", None, "both", 60.0, 0.8, 5))
    assert progress_of(*played).pieces["p"].hardest_bar == 5
    assert progress_of(*played, PlayedThrough("p", "A", "both", 60.0)).pieces["p"].hardest_bar is None


def test_a_piece_set_aside_keeps_everything() -> None:
    aside = (*begun(), *section_done("A"), PieceSetAside("p", "too fast for me"))
    progress = progress_of(*aside)
    assert progress.in_hand is None
    assert progress.pieces["p"].set_aside_reason == "too fast for me"
    again = progress_of(*aside, PieceTakenUp("p"))
    assert again.in_hand == "p"
    assert again.pieces["p"].sections == progress.pieces["p"].sections


def test_a_new_cut_keeps_what_was_done_in_sections_that_stay() -> None:
    progress = progress_of(
        *begun(), *section_done("A"), SectionsSet("p", (record("A", 4), record("B", 2, 16)))
    )
    first, second = progress.pieces["p"].sections
    assert first.good_enough
    assert (second.end, second.begun) == (Fraction(24), False)


def test_choosing_a_key_moves_what_was_written() -> None:
    written = (*begun(), LineWritten("p", "A", "melody", (NoteRecord(Fraction(0), Fraction(1), 60, 2, 1),)))
    key = KeyChosen("p", "D", 0, 2, -12.0, melody_octaves=1)
    line = progress_of(*written, key).pieces["p"].sections[0].melody
    assert line.notes == (NoteRecord(Fraction(0), Fraction(1), 74),)
    back = progress_of(*written, key, KeyChosen("p", "C", 0, 0, 0.0)).pieces["p"].sections[0].melody
    assert back.notes == (NoteRecord(Fraction(0), Fraction(1), 60),)
    later = progress_of(*begun(), key, LineWritten("p", "A", "melody", notes(0, 74)))
    assert later.pieces["p"].sections[0].melody.notes == notes(0, 74)


def test_a_reply_corrects_notes_drops_bars_and_grants_one_more_change() -> None:
    done = (*begun(), *section_done("A"))
    reply = ReplyOpened(
        "p",
        "The third note is lower.",
        (NoteRecord(Fraction(3, 2), Fraction(1), 63),),
        "melody",
        ("B",),
        1,
    )
    piece = progress_of(*done, reply).pieces["p"]
    assert [(n.onset, n.duration, n.midi) for n in piece.sections[0].melody.notes] == [
        (Fraction(0), Fraction(1), 60),
        (Fraction(1), Fraction(1, 2), 62),
        (Fraction(3, 2), Fraction(1), 63),
    ]
    assert piece.words == ("The third note is lower.",)
    assert [section.name for section in piece.sections] == ["A"]
    assert piece.most_reopenings == 3


def test_skills_remember_their_last_answers() -> None:
    marks = [0.0] * 5 + [1.0] * RECENT_ANSWERS
    progress = progress_of(
        *(answer("echo", credit=credit, level=3) for credit in marks), DrillPassed("d", "echo", 4)
    )
    skill = progress.skills["echo"]
    assert (skill.answers, skill.right, skill.passed, skill.level) == (17, 12, 1, 3)
    assert skill.sureness == 1.0
    assert progress.day(START.date()).drills == 17


def test_measurements_keep_their_last_value() -> None:
    progress = progress_of(
        StringTuned(6, -3.0),
        StringTuned(6, 1.0),
        VoiceHeard(45, 60),
        VoiceHeard(43, 62),
        Calibrated("card", 40.0),
        PackOpened("p", "P", "00"),
        PieceChosen("p", "P", None),
        AimSet("p", date(2026, 5, 1)),
        ReportShared(None),
    )
    assert progress.strings == {6: 1.0}
    assert progress.voice == (43, 62)
    assert progress.round_trips == {"card": 40.0}
    assert progress.pieces["p"].aim == date(2026, 5, 1)
    assert progress.reported_at == START + timedelta(minutes=8)


def test_days_stay_in_order_when_the_clock_was_put_back() -> None:
    log = list(logged([TimeSpent("ear", 60.0)] * 4, minutes=24 * 60))
    moved = [
        *log,
        LoggedEvent(5, log[1].at, TimeSpent("ear", 5.0)),
        LoggedEvent(6, log[3].at, StringTuned(1, 0)),
    ]
    progress = fold_all(moved)
    assert [day.ear_s for day in progress.days] == [60.0, 65.0, 60.0, 60.0]
    earlier = fold_all([*log, LoggedEvent(5, START - timedelta(days=9), TimeSpent("ear", 7.0))])
    assert next(iter(earlier.days)) == Day(START.date() - timedelta(days=9), ear_s=7.0)


def shape_of(hint: Any, seen: dict[str, list[str]]) -> None:
    """Names and types of all fields below a class."""
    for part in get_args(hint):
        shape_of(part, seen)
    if is_dataclass(hint) and hint.__qualname__ not in seen:
        hints = get_type_hints(hint)
        seen[hint.__qualname__] = [f"{field.name}: {hints[field.name]}" for field in fields(hint)]
        for field in fields(hint):
            shape_of(hints[field.name], seen)


def test_a_new_shape_of_progress_has_a_new_fold_version() -> None:
    """Old snapshots must not be read into a new shape: raise FOLD_VERSION, then write both down here."""
    seen: dict[str, list[str]] = {}
    shape_of(Progress, seen)
    digest = hashlib.sha256(json.dumps(seen, sort_keys=True).encode()).hexdigest()[:12]
    assert (FOLD_VERSION, digest) == KNOWN_SHAPE
