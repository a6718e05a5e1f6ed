"""What may be decided about a whole piece: its size, its sections, its finish."""

from fractions import Fraction
from itertools import pairwise
from typing import assert_never

from coach.errors import NoteNameError, ScopeError
from coach.music.meter import Meter
from coach.practice.events import (
    AimSet,
    GridSet,
    KeyChosen,
    PieceFinished,
    PieceSetAside,
    ReplyOpened,
    RhythmMade,
    SectionRecord,
    SectionsSet,
    SmallerAccepted,
    TakeKept,
)
from coach.practice.fold_piece import fold_choosing
from coach.practice.limits import Limits, limits_after
from coach.practice.piece_state import Cell, PieceState
from coach.practice.progress import Progress

MOST_SECTION_BARS = 8
"""A section has 2 to 8 bars (the product's own rule); a shorter rest at the end does no harm."""

MIDI = range(128)

Decision = PieceSetAside | GridSet | SectionsSet | RhythmMade | KeyChosen | AimSet | SmallerAccepted


def may_choose(known: PieceState | None) -> ScopeError | None:
    """Whether a piece may be taken in hand for the first time."""
    if known is None:
        return None
    return ScopeError(f"“{known.title}” was chosen before: take it up again instead.")


def may_take_up(known: PieceState | None) -> ScopeError | None:
    """Whether a piece laid aside may be taken in hand again."""
    if known is None:
        return ScopeError("This piece was never in hand: choose it first.")
    if known.finished_on is not None:
        return ScopeError(
            f"“{known.title}” is finished: choose a new piece, with the wider limits you earned."
        )
    return None


def may_decide(progress: Progress, piece: PieceState, event: Decision) -> ScopeError | None:
    """Whether a decision about the piece in hand stands."""
    limits = limits_after(len(progress.finished))
    match event:
        case PieceSetAside(reason=reason):
            return None if reason.strip() else ScopeError("Say in one sentence why this piece is set aside.")
        case GridSet(meter=meter, pickup=pickup):
            records = tuple(SectionRecord(each.name, each.onset, each.end) for each in piece.sections)
            return _fits(records, meter, pickup, limits)
        case SectionsSet(sections=records):
            return (
                _in_order(records)
                or _fits(records, str(piece.meter), piece.pickup, limits)
                or _keeps(piece, event)
            )
        case RhythmMade():
            return _of_rhythm(piece, event)
        case SmallerAccepted(dropped_sections=names):
            return _only_untouched(piece, names) or _leaves_one(piece, names)
        case KeyChosen() | AimSet():
            return None
    assert_never(event)


def _of_rhythm(piece: PieceState, event: RhythmMade) -> ScopeError | None:
    section = piece.section(event.section)
    if section is None or not piece.free(event.section):
        return ScopeError("This section has its beats already: change its notes at the workbench.")
    if not (section.melody.notes and section.bass.notes):
        return ScopeError("Both lines come first: find the melody and the bass of this section.")
    inside = (section.onset <= note.onset < event.end for note in (*event.melody, *event.bass))
    same = (len(event.melody), len(event.bass)) == (len(section.melody.notes), len(section.bass.notes))
    if not same or not all(inside):
        return ScopeError("A note was lost on the way into beats: settle the line once more.")
    return None


def may_finish(piece: PieceState, event: TakeKept | PieceFinished) -> ScopeError | None:
    """Whether a whole take may be kept, or the piece be called done."""
    match event:
        case TakeKept(duration_s=duration_s):
            whole = piece.sections and all(each.together is Cell.SETTLED for each in piece.sections)
            if whole and duration_s > 0:
                return None
            return ScopeError(
                "A whole take has all sections in it: get both lines of each under the hand first."
            )
        case PieceFinished():
            return missing_for_finish(piece)
    assert_never(event)


def missing_for_finish(piece: PieceState) -> ScopeError | None:
    """What is still needed before the piece is done, ``None`` if nothing is."""
    if not piece.sections:
        return ScopeError("Cut the piece into sections first.")
    waiting = next((each for each in piece.sections if not each.good_enough), None)
    if waiting is not None:
        return ScopeError(f"Section {waiting.name} is not good enough yet: that comes first.")
    if not piece.takes:
        return ScopeError("Record the whole piece once and keep the take: then it is done.")
    return None


def may_reply(piece: PieceState, event: ReplyOpened) -> ScopeError | None:
    """Whether a teacher's reply may take effect."""
    if event.extra_reopenings not in {0, 1}:
        return ScopeError("A reply can allow one more change, not more: ask your teacher for a new one.")
    if event.corrected and event.corrected_line not in {"melody", "bass"}:
        return ScopeError("The reply corrects a line that is neither melody nor bass: ask for a new one.")
    if any(note.duration <= 0 or note.onset < 0 or note.midi not in MIDI for note in event.corrected):
        return ScopeError("The reply holds a note that cannot be: ask your teacher for a new one.")
    return _leaves_one(piece, event.dropped_sections)


def _only_untouched(piece: PieceState, names: tuple[str, ...]) -> ScopeError | None:
    begun = next((each for each in piece.sections if each.name in names and each.begun), None)
    if begun is None:
        return None
    return ScopeError(f"Section {begun.name} is begun: keep it, and give up a later one.")


def _leaves_one(piece: PieceState, names: tuple[str, ...]) -> ScopeError | None:
    if not names or any(each.name not in names for each in piece.sections):
        return None
    return ScopeError("At least one section has to stay: keep the first.")


def _in_order(records: tuple[SectionRecord, ...]) -> ScopeError | None:
    names = [record.name for record in records]
    if not records or not all(name.strip() for name in names) or len(set(names)) < len(names):
        return ScopeError("A piece needs at least one section, and each its own name.")
    if any(record.onset < 0 or record.end <= record.onset for record in records) or any(
        after.onset < before.end for before, after in pairwise(records)
    ):
        return ScopeError("Sections follow one another and do not overlap: cut the piece again.")
    return None


def _fits(
    records: tuple[SectionRecord, ...], meter: str, pickup: Fraction, limits: Limits
) -> ScopeError | None:
    try:
        bar = Meter.parse(meter).bar
    except NoteNameError as error:
        return ScopeError(error.message)
    upbeat = pickup if records and records[0].onset < pickup else Fraction(0)
    bars = (sum((record.end - record.onset for record in records), Fraction(0)) - upbeat) / bar
    if bars > limits.most_bars:
        return ScopeError(
            f"{float(bars):g} bars are more than the {limits.most_bars} that fit now: choose fewer; "
            "the limit widens with each finished piece."
        )
    longest = max((record.end - record.onset for record in records), default=Fraction(0))
    if longest - upbeat > MOST_SECTION_BARS * bar:
        return ScopeError(f"A section has at most {MOST_SECTION_BARS} bars: cut it in two.")
    return None


def _keeps(piece: PieceState, event: SectionsSet) -> ScopeError | None:
    """Begun sections stay as they are, and nothing unplayed comes before them."""
    kept = {(record.name, record.onset, record.end) for record in event.sections}
    names = {record.name for record in event.sections}
    begun_before = [
        section
        for section in (*piece.sections, *piece.dropped)
        if section.begun and (section in piece.sections or section.name in names)
    ]
    for section in begun_before:
        if (section.name, section.onset, section.end) not in kept:
            return ScopeError(f"Section {section.name} is begun: keep it as it is, and cut the rest.")
    after = fold_choosing(piece, event, piece.chosen_on).sections
    for name in ("melody", "bass"):
        held = [(note, section.name) for section in after for note in section.line(name).notes]
        for (note, here), (following, there) in pairwise(held):
            # A section given up comes back with its notes; meanwhile the one before may have grown.
            if note.onset + note.duration > following.onset:
                return ScopeError(
                    f"The {name} of section {here} sounds into that of section {there}: shorten its last "
                    "note first, then cut the piece again."
                )
    for before, begun in ((b, s) for i, s in enumerate(after) if s.begun for b in after[:i]):
        if not before.once_good_enough:
            return ScopeError(
                f"Section {begun.name} is begun: section {before.name} cannot be put before it."
            )
    return None
