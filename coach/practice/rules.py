"""Which events may follow: one piece in hand, depth first, two notes, two reopenings, a take, the finish.

The log asks `require_allowed` before every entry, so no screen, command or file can lead past the rules.
"""

import math
from typing import assert_never

from coach.errors import ScopeError
from coach.practice.events import (
    DrillEvent,
    Event,
    ExchangeEvent,
    IdeaNoted,
    MeasuredEvent,
    PieceChosen,
    PieceFinished,
    PieceTakenUp,
    ReplyOpened,
    SectionEvent,
    TakeKept,
    TimeSpent,
)
from coach.practice.piece_state import PieceState
from coach.practice.progress import Progress
from coach.practice.rules_piece import (
    Decision,
    may_choose,
    may_decide,
    may_finish,
    may_reply,
    may_take_up,
)
from coach.practice.rules_section import may_work

OfPiece = Decision | TakeKept | PieceFinished | SectionEvent
"""What only the piece in hand allows."""


def allowed(progress: Progress, event: Event) -> ScopeError | None:
    """``None`` if the event may come next, else the error that says why not and what to do."""
    if isinstance(event, PieceChosen | PieceTakenUp):
        return _in_hand_changes(progress, event)
    if isinstance(event, OfPiece):
        piece = progress.piece
        if piece is None or piece.piece != event.piece:
            return ScopeError("This is not the piece in hand: take it in hand first.")
        return _of_piece(progress, piece, event)
    if isinstance(event, ReplyOpened):
        return _of_reply(progress, event)
    if isinstance(event, TimeSpent):
        return _of_time(event)
    if isinstance(event, IdeaNoted | DrillEvent | MeasuredEvent | ExchangeEvent):
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


def _of_piece(progress: Progress, piece: PieceState, event: OfPiece) -> ScopeError | None:
    if isinstance(event, Decision):
        return may_decide(progress, piece, event)
    if isinstance(event, SectionEvent):
        return may_work(piece, event)
    return may_finish(piece, event)


def _of_time(event: TimeSpent) -> ScopeError | None:
    if 0 <= event.seconds < math.inf:
        return None
    return ScopeError("Time spent is counted in seconds from 0 on: look at the clock of this device.")


def _of_reply(progress: Progress, event: ReplyOpened) -> ScopeError | None:
    piece = progress.pieces.get(event.piece)
    if piece is None:
        return ScopeError("This reply is about a piece that is not on this device: open its pack first.")
    return may_reply(piece, event)
