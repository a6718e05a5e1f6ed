"""The fold of one piece: what each event does to it."""

from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import assert_never

from coach.practice.events import (
    AimSet,
    ChoosingEvent,
    GridSet,
    IdeaNoted,
    KeyChosen,
    LineSettled,
    LineWritten,
    NoteRecord,
    PieceFinished,
    PieceSetAside,
    PieceTakenUp,
    PlayedSettled,
    PlayedThrough,
    ReplyOpened,
    RhythmMade,
    SectionEvent,
    SectionRecord,
    SectionsSet,
    SmallerAccepted,
    TakeKept,
    TogetherSettled,
    WholeEvent,
)
from coach.practice.fold_section import fold_section
from coach.practice.piece_state import LineState, Milestone, PieceState, SectionState, Take
from coach.practice.stages import Stage


def fold_choosing(piece: PieceState, event: ChoosingEvent, day: date) -> PieceState:
    """The piece after a decision about it."""
    match event:
        case PieceSetAside(reason=reason):
            return replace(piece, set_aside_on=day, set_aside_reason=reason)
        case PieceTakenUp():
            return replace(piece, set_aside_on=None, set_aside_reason=None)
        case GridSet():
            return replace(piece, grid=event)
        case SectionsSet(sections=records):
            return _cut(piece, records)
        case RhythmMade():
            return _in_beats(piece, event)
        case KeyChosen():
            return _in_key(replace(piece, key=event))
    assert_never(event)


def fold_whole(piece: PieceState, event: WholeEvent, day: date) -> PieceState:
    """The piece after an event that concerns all of it."""
    match event:
        case TakeKept(file=file, duration_s=duration_s):
            return replace(piece, takes=(*piece.takes, Take(file, duration_s)))
        case PieceFinished():
            return replace(piece, finished_on=day)
        case IdeaNoted(text=text):
            return replace(piece, ideas=(*piece.ideas, text))
        case AimSet(day=aim):
            return replace(piece, aim=aim)
        case SmallerAccepted(proposal=proposal, dropped_sections=dropped):
            smaller = _without(piece, dropped)
            return replace(smaller, accepted=(*smaller.accepted, proposal))
        case ReplyOpened():
            return _replied(piece, event)
    assert_never(event)


def fold_part(piece: PieceState, event: SectionEvent, day: date) -> PieceState:
    """The piece after an event of one of its sections; an event of an unknown section changes nothing."""
    if isinstance(event, PlayedThrough) and event.section is None:
        return replace(piece, hardest_bar=event.hardest_bar if event.right_share is not None else None)
    section = piece.section(event.section)
    if section is None:
        return piece
    worked = piece
    if piece.first_worked_on is None or isinstance(event, PlayedThrough):
        hardest = None if isinstance(event, PlayedThrough) else piece.hardest_bar
        worked = replace(piece, first_worked_on=piece.first_worked_on or day, hardest_bar=hardest)
    shift = piece.shift(event.line) if isinstance(event, LineWritten) else 0
    stage = _settled_stage(event)
    if stage is not None:
        reached = Milestone(section.name, stage, day)
        worked = replace(worked, milestones=(*worked.milestones, reached))
    return with_section(worked, fold_section(section, event, day, shift))


def _settled_stage(event: SectionEvent) -> Stage | None:
    """The stage that an event settles."""
    match event:
        case LineSettled(line=line):
            return Stage.MELODY if line == "melody" else Stage.BASS
        case TogetherSettled():
            return Stage.TOGETHER
        case PlayedSettled():
            return Stage.PLAYED
        case _:
            return None


def with_section(piece: PieceState, section: SectionState) -> PieceState:
    """The piece with one section put in the place of that of the same name."""
    sections = tuple(section if old.name == section.name else old for old in piece.sections)
    return replace(piece, sections=sections)


def _cut(piece: PieceState, records: tuple[SectionRecord, ...]) -> PieceState:
    """New sections; one that keeps its name and place keeps what was done in it."""
    known = {
        (section.name, section.onset, section.end): section for section in (*piece.dropped, *piece.sections)
    }
    sections = tuple(
        known.get((record.name, record.onset, record.end))
        or SectionState(record.name, record.onset, record.end)
        for record in records
    )
    names = {section.name for section in sections}
    dropped = tuple(section for section in piece.dropped if section.name not in names)
    return replace(piece, sections=sections, dropped=dropped)


def _in_beats(piece: PieceState, event: RhythmMade) -> PieceState:
    """One section's lines and end as the event has them; the sections after it move along."""
    section = piece.section(event.section)
    if section is None or piece.grid is None:
        return piece
    counted = replace(
        section,
        end=event.end,
        melody=replace(section.melody, notes=event.melody, shift=piece.shift("melody")),
        bass=replace(section.bass, notes=event.bass, shift=piece.shift("bass")),
        counted=True,
    )
    by = event.end - section.end
    moved = (_later(each, by) if each.onset >= section.end else each for each in piece.sections)
    sections = tuple(counted if each is section else each for each in moved)
    grid = replace(piece.grid, quarters=event.quarters, seconds=event.seconds)
    return replace(piece, sections=sections, grid=grid)


def _later(section: SectionState, by: Fraction) -> SectionState:
    def line(state: LineState) -> LineState:
        return replace(state, notes=tuple(replace(note, onset=note.onset + by) for note in state.notes))

    return replace(
        section,
        onset=section.onset + by,
        end=section.end + by,
        melody=line(section.melody),
        bass=line(section.bass),
        wished=tuple(
            replace(wish, notes=tuple(replace(note, onset=note.onset + by) for note in wish.notes))
            for wish in section.wished
        ),
    )


def _in_key(piece: PieceState) -> PieceState:
    """All lines moved to where the key chosen puts them; what moves loses its place on the neck."""

    def moved(section: SectionState) -> SectionState:
        return replace(
            section,
            melody=_moved(section.melody, piece.shift("melody")),
            bass=_moved(section.bass, piece.shift("bass")),
        )

    return replace(
        piece, sections=tuple(map(moved, piece.sections)), dropped=tuple(map(moved, piece.dropped))
    )


def _moved(line: LineState, shift: int) -> LineState:
    by = shift - line.shift
    if by == 0 or not line.notes:
        return replace(line, shift=shift)
    notes = (replace(note, midi=note.midi + by, string=None, fret=None, finger=None) for note in line.notes)
    return replace(line, notes=tuple(notes), shift=shift)


def _without(piece: PieceState, names: tuple[str, ...]) -> PieceState:
    gone = tuple(section for section in piece.sections if section.name in names)
    kept = tuple(section for section in piece.sections if section.name not in names)
    return replace(piece, sections=kept, dropped=(*piece.dropped, *gone))


def _replied(piece: PieceState, event: ReplyOpened) -> PieceState:
    smaller = _without(piece, event.dropped_sections)
    if event.corrected_line is not None:
        for note in event.corrected:
            smaller = _corrected(smaller, event.corrected_line, note)
    return replace(
        smaller,
        words=(*smaller.words, event.word) if event.word else smaller.words,
        extra_reopenings=smaller.extra_reopenings + event.extra_reopenings,
    )


def _corrected(piece: PieceState, line_name: str, note: NoteRecord) -> PieceState:
    """A note of the teacher's put into a line that has notes there; what it overlaps gives way."""
    home = next((section for section in piece.sections if section.onset <= note.onset < section.end), None)
    if home is None or not home.line(line_name).notes:
        return piece
    fitted = replace(note, duration=min(note.onset + note.duration, home.end) - note.onset)
    sections = []
    for section in piece.sections:
        line = section.line(line_name)
        kept = [left for old in line.notes if (left := _giving_way(old, fitted)) is not None]
        notes = sorted([*kept, fitted], key=lambda each: each.onset) if section is home else kept
        mended = replace(line, notes=tuple(notes))
        sections.append(
            replace(section, melody=mended) if line_name == "melody" else replace(section, bass=mended)
        )
    return replace(piece, sections=tuple(sections))


def _giving_way(old: NoteRecord, note: NoteRecord) -> NoteRecord | None:
    """What is left of a note beside a new one."""
    if old.onset < note.onset < old.onset + old.duration:
        return replace(old, duration=note.onset - old.onset)
    return None if note.onset <= old.onset < note.onset + note.duration else old
