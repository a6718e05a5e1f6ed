"""Which events may follow: one piece in hand, depth first, two notes, two reopenings, a take, the finish.

The log asks `require_allowed` before every entry, so no screen, command or file can lead past the rules.
"""

import math
from typing import assert_never

from coach.errors import ScopeError
from coach.practice.events import (
    AimSet,
    BackupMade,
    Calibrated,
    DrillAnswered,
    DrillPassed,
    Event,
    GridSet,
    HandWished,
    HintTaken,
    IdeaNoted,
    KeyChosen,
    LineReopened,
    LineSettled,
    LineWritten,
    NoteChecked,
    PackOpened,
    PieceChosen,
    PieceFinished,
    PieceSetAside,
    PieceTakenUp,
    PlayedSettled,
    PlayedThrough,
    ReplyOpened,
    ReportShared,
    RhythmMade,
    SectionsSet,
    SmallerAccepted,
    StringTuned,
    TakeKept,
    TimeSpent,
    TogetherSettled,
    VoiceHeard,
)
from coach.practice.fold_section import SectionEvent
from coach.practice.piece_state import PieceState
from coach.practice.progress import Progress
from coach.practice.rules_piece import may_choose, may_decide, may_finish, may_reply, may_take_up
from coach.practice.rules_section import may_work


def allowed(progress: Progress, event: Event) -> ScopeError | None:
    """``None`` if the event may come next, else the error that says why not and what to do."""
    match event:
        case PieceChosen() | PieceTakenUp():
            return _in_hand_changes(progress, event)
        case (
            PieceSetAside()
            | GridSet()
            | SectionsSet()
            | RhythmMade()
            | KeyChosen()
            | LineWritten()
            | NoteChecked()
            | HintTaken()
            | LineSettled()
            | LineReopened()
            | HandWished()
            | TogetherSettled()
            | PlayedThrough()
            | PlayedSettled()
            | TakeKept()
            | PieceFinished()
            | AimSet()
            | SmallerAccepted()
        ):
            piece = progress.piece
            if piece is None or piece.piece != event.piece:
                return ScopeError("This is not the piece in hand: take it in hand first.")
            return _of_piece(progress, piece, event)
        case ReplyOpened():
            return _of_reply(progress, event)
        case TimeSpent(seconds=seconds) if not 0 <= seconds < math.inf:
            return ScopeError("Time spent is counted in seconds from 0 on: look at the clock of this device.")
        case (
            IdeaNoted()
            | DrillAnswered()
            | DrillPassed()
            | StringTuned()
            | VoiceHeard()
            | TimeSpent()
            | Calibrated()
            | PackOpened()
            | ReportShared()
            | BackupMade()
        ):
            return None
    assert_never(event)


def require_allowed(progress: Progress, event: Event) -> None:
    """Raise the ``ScopeError`` of `allowed`, if there is one."""
    refusal = allowed(progress, event)
    if refusal is not None:
        raise refusal


def _in_hand_changes(progress: Progress, event: PieceChosen | PieceTakenUp) -> ScopeError | None:
    held = progress.piece
    if held is not None:
        return ScopeError(f"“{held.title}” is in hand: finish it or set it aside first.")
    known = progress.pieces.get(event.piece)
    if isinstance(event, PieceChosen):
        return may_choose(known)
    return may_take_up(known)


OfPiece = (
    PieceSetAside
    | GridSet
    | SectionsSet
    | RhythmMade
    | KeyChosen
    | TakeKept
    | PieceFinished
    | AimSet
    | SmallerAccepted
    | SectionEvent
)


def _of_piece(progress: Progress, piece: PieceState, event: OfPiece) -> ScopeError | None:
    match event:
        case (
            PieceSetAside()
            | GridSet()
            | SectionsSet()
            | RhythmMade()
            | KeyChosen()
            | AimSet()
            | SmallerAccepted()
        ):
            return may_decide(progress, piece, event)
        case TakeKept() | PieceFinished():
            return may_finish(piece, event)
        case (
            LineWritten()
            | NoteChecked()
            | HintTaken()
            | LineSettled()
            | LineReopened()
            | HandWished()
            | TogetherSettled()
            | PlayedThrough()
            | PlayedSettled()
        ):
            return may_work(piece, event)
    assert_never(event)


def _of_reply(progress: Progress, event: ReplyOpened) -> ScopeError | None:
    piece = progress.pieces.get(event.piece)
    if piece is None:
        return ScopeError("This reply is about a piece that is not on this device: open its pack first.")
    return may_reply(piece, event)
