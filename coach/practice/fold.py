"""The fold: progress after one more event.

It is total and refuses nothing: `coach.practice.rules` does that before an event is written.
"""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import assert_never

from coach.drills.grade import Word
from coach.practice import schedule
from coach.practice.days import Day
from coach.practice.events import (
    BackupMade,
    Calibrated,
    ChoosingEvent,
    DrillAnswered,
    DrillEvent,
    Event,
    ExchangeEvent,
    LoggedEvent,
    MeasuredEvent,
    PackOpened,
    PieceChosen,
    PieceFinished,
    PieceSetAside,
    PieceTakenUp,
    ReportShared,
    SectionEvent,
    StringTuned,
    TimeSpent,
    VoiceHeard,
    WholeEvent,
)
from coach.practice.fold_daily import fold_day, fold_skill, merged_days
from coach.practice.fold_piece import fold_choosing, fold_part, fold_whole, with_section
from coach.practice.piece_state import PieceState
from coach.practice.progress import Progress

_WORDS = frozenset(Word)
FOLD_VERSION = 10
"""Raise it with every change to the fold or to the shape of `Progress`: old snapshots are then left alone."""


def fold(progress: Progress, logged: LoggedEvent) -> Progress:
    """Progress after the next event of the log."""
    day = logged.at.date()
    earlier, current = _days(progress, logged.event, day)
    return replace(
        _after_event(progress, logged),
        seq=logged.seq,
        at=logged.at,
        started_on=progress.started_on or day,
        earlier=earlier,
        current=current,
    )


def fold_all(logged: Iterable[LoggedEvent], progress: Progress | None = None) -> Progress:
    """Progress after many events, from the beginning unless told otherwise."""
    found = progress or Progress()
    for each in logged:
        found = fold(found, each)
    return found


def _days(progress: Progress, event: Event, day: date) -> tuple[tuple[Day, ...], Day]:
    """The earlier days and the latest one, after an event."""
    current, earlier = progress.current, progress.earlier
    if current is None:
        return earlier, fold_day(Day(day), event)
    if day == current.day:
        return earlier, fold_day(current, event)
    if day > current.day:
        return (*earlier, current), fold_day(Day(day), event)
    others = tuple(each for each in earlier if each.day != day)
    return merged_days(others, fold_day(progress.day(day), event)), current


def _after_event(progress: Progress, logged: LoggedEvent) -> Progress:  # noqa: PLR0911 - one a group
    event, day = logged.event, logged.at.date()
    if isinstance(event, PieceChosen):
        return _chosen(progress, event, day)
    if isinstance(event, ChoosingEvent):
        return _decided(progress, event, day)
    if isinstance(event, SectionEvent):
        return _worked(progress, event, day)
    if isinstance(event, WholeEvent):
        return _whole(progress, event, day)
    if isinstance(event, DrillEvent):
        return _drilled(progress, event, logged)
    if isinstance(event, TimeSpent):
        return _timed(progress, event, day)
    if isinstance(event, MeasuredEvent):
        return _measured(progress, event)
    if isinstance(event, ExchangeEvent):
        return _exchanged(progress, event, logged)
    assert_never(event)


def _with_piece(progress: Progress, piece: PieceState) -> Progress:
    return replace(progress, pieces={**progress.pieces, piece.piece: piece})


def _chosen(progress: Progress, event: PieceChosen, day: date) -> Progress:
    piece = PieceState(
        piece=event.piece,
        title=event.title,
        chosen_on=day,
        recording_sha256=event.recording_sha256,
        bundled=event.bundled,
    )
    return replace(_with_piece(progress, piece), in_hand=event.piece)


def _decided(progress: Progress, event: ChoosingEvent, day: date) -> Progress:
    piece = progress.pieces.get(event.piece)
    if piece is None:
        return progress
    after = _with_piece(progress, fold_choosing(piece, event, day))
    if isinstance(event, PieceTakenUp):
        return replace(after, in_hand=event.piece)
    if isinstance(event, PieceSetAside) and progress.in_hand == event.piece:
        return replace(after, in_hand=None)
    return after


def _worked(progress: Progress, event: SectionEvent, day: date) -> Progress:
    piece = progress.pieces.get(event.piece)
    return progress if piece is None else _with_piece(progress, fold_part(piece, event, day))


def _whole(progress: Progress, event: WholeEvent, day: date) -> Progress:
    piece = progress.pieces.get(event.piece)
    if piece is None:
        return progress
    after = _with_piece(progress, fold_whole(piece, event, day))
    if isinstance(event, PieceFinished) and progress.in_hand == event.piece:
        return replace(after, in_hand=None)
    return after


def _drilled(progress: Progress, event: DrillEvent, logged: LoggedEvent) -> Progress:
    skills = fold_skill(progress.skills, event, logged.at.date())
    if isinstance(event, DrillAnswered) and event.word not in _WORDS:
        return replace(progress, skills=skills)
    pace = progress.ear_pace.after(event) if isinstance(event, DrillAnswered) else progress.ear_pace
    cards = schedule.apply(progress.schedule, event, logged.at)
    return replace(progress, skills=skills, schedule=cards, ear_pace=pace)


def _timed(progress: Progress, event: TimeSpent, day: date) -> Progress:
    piece = progress.pieces.get(event.piece) if event.piece is not None else None
    if piece is None or event.activity != "piece":
        return progress
    piece = replace(
        piece, seconds=piece.seconds + event.seconds, first_worked_on=piece.first_worked_on or day
    )
    section = piece.section(event.section)
    if section is not None and event.stage is not None:
        spent = section.seconds.get(event.stage, 0.0) + event.seconds
        worked = replace(section, seconds={**section.seconds, event.stage: spent}, touched_on=day)
        piece = with_section(piece, worked)
    elif section is None and piece.all_good_enough:
        piece = replace(piece, ending_s=piece.ending_s + event.seconds)
    return _with_piece(progress, piece)


def _measured(progress: Progress, event: MeasuredEvent) -> Progress:
    match event:
        case StringTuned(string=string, cents=cents):
            return replace(progress, strings={**progress.strings, string: cents})
        case VoiceHeard(lowest=lowest, highest=highest):
            return replace(progress, voice=(lowest, highest))
        case Calibrated(device=device, round_trip_ms=round_trip_ms):
            return replace(progress, round_trips={**progress.round_trips, device: round_trip_ms})
    assert_never(event)


def _exchanged(progress: Progress, event: ExchangeEvent, logged: LoggedEvent) -> Progress:
    match event:
        case PackOpened(piece=piece, sha256=sha256):
            return replace(progress, packs={**progress.packs, piece: sha256})
        case ReportShared():
            return replace(progress, reported_at=logged.at)
        case BackupMade():
            return replace(progress, backed_up_on=logged.at.date())
    assert_never(event)
