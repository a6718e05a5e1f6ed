"""The fold of one section: what each event does to its lines and stages."""

from dataclasses import replace
from datetime import date
from typing import assert_never

from coach.practice.events import (
    HandWished,
    HintTaken,
    LineReopened,
    LineSettled,
    LineWritten,
    NoteChecked,
    PlayedSettled,
    PlayedThrough,
    SectionEvent,
    TogetherSettled,
)
from coach.practice.piece_state import MOST_WISHED, Cell, LineState, SectionState


def fold_section(section: SectionState, event: SectionEvent, day: date, shift: int) -> SectionState:
    """The section after an event of its own; ``shift`` is that of a line written, in semitones."""
    touched = section
    if section.touched_on != day or section.begun_on is None:
        touched = replace(section, begun_on=section.begun_on or day, touched_on=day)
    after = _after(touched, event, shift)
    if not after.once_good_enough and after.good_enough:
        return replace(after, once_good_enough=True)
    return after


def _written(section: SectionState, event: LineWritten, shift: int) -> SectionState:
    line = replace(_begun(section.line(event.line)), notes=event.notes, shift=shift)
    return _with_line(section, event.line, line)


def _after(touched: SectionState, event: SectionEvent, shift: int) -> SectionState:  # noqa: PLR0911 - one a case
    match event:
        case LineWritten():
            return _written(touched, event, shift)
        case LineSettled() | LineReopened():
            return _with_line_event(touched, event)
        case NoteChecked(line=line):
            return replace(_line_begun(touched, line), checks=touched.checks + 1)
        case HintTaken(line=line):
            return replace(_line_begun(touched, line), hints=touched.hints + 1)
        case HandWished():
            return _wished(touched, event)
        case TogetherSettled(changes=changes, hardest_bar=bar):
            return replace(touched, together=Cell.SETTLED, changes=changes, hardest_bar=bar)
        case PlayedThrough():
            return _played_through(touched, event)
        case PlayedSettled():
            return replace(touched, played=Cell.SETTLED)
    assert_never(event)


def _with_line_event(section: SectionState, event: LineSettled | LineReopened) -> SectionState:
    line = section.line(event.line)
    match event:
        case LineSettled(open_questions=open_questions):
            settled = replace(line, cell=Cell.SETTLED, open_questions=open_questions)
            return _with_line(section, event.line, settled)
        case LineReopened():
            # What was built on the line has to be looked at again, but it is not lost.
            reopened = replace(line, cell=Cell.BEGUN, reopenings=line.reopenings + 1)
            return replace(
                _with_line(section, event.line, reopened),
                together=_unsettled(section.together),
                played=_unsettled(section.played),
            )
    assert_never(event)


def _wished(section: SectionState, event: HandWished) -> SectionState:
    """Taking a wish back leads to the one before it; what is remembered has an end."""
    together = Cell.BEGUN if section.together is Cell.EMPTY else section.together
    before = section.wished[:-1] if event.by == "undo" else section.wished
    kept = before if before and _alike(before[-1], event) else (*before, event)
    return replace(section, together=together, wished=kept[-MOST_WISHED:])


def _alike(one: HandWished, other: HandWished) -> bool:
    return replace(one, by=other.by) == other


def _begun(line: LineState) -> LineState:
    return replace(line, cell=Cell.BEGUN) if line.cell is Cell.EMPTY else line


def _line_begun(section: SectionState, name: str) -> SectionState:
    line = section.line(name)
    return _with_line(section, name, _begun(line)) if line.cell is Cell.EMPTY else section


def _unsettled(cell: Cell) -> Cell:
    return Cell.EMPTY if cell is Cell.EMPTY else Cell.BEGUN


def _with_line(section: SectionState, name: str, line: LineState) -> SectionState:
    return replace(section, melody=line) if name == "melody" else replace(section, bass=line)


def _played_through(section: SectionState, event: PlayedThrough) -> SectionState:
    heard_both = event.part == "both" and event.right_share is not None
    return replace(
        section,
        played=Cell.BEGUN if section.played is Cell.EMPTY else section.played,
        play_throughs=section.play_throughs + 1,
        right_share=event.right_share if heard_both else section.right_share,
        hardest_bar=event.hardest_bar if event.right_share is not None else section.hardest_bar,
    )
