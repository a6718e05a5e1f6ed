"""The smallest change that makes two lines playable.

Strict first: what can be played as written is never changed. Then whole lines are put in the guitar's
register, at no price. Only then changes are paid for: see `coach.pieces.change_search`.
"""

from dataclasses import dataclass, replace
from fractions import Fraction

from coach.fretboard import (
    NO_WISHES,
    STANDARD,
    STARTER,
    Blocked,
    Conflict,
    Fingering,
    Neck,
    Reach,
    Tuning,
    Wishes,
    chosen_places,
)
from coach.fretboard.solve import solve_with
from coach.fretboard.trellis import NeckTables
from coach.notation.arrangement import Arrangement
from coach.pieces.change_kinds import FREE
from coach.pieces.change_plan import Plan, Register, in_register, register_for, whole_changes
from coach.pieces.change_search import NO_HOOKS, Hooks, Proposal, Search


@dataclass(frozen=True, slots=True)
class Mended:
    """How an arrangement can be played.

    Parameters
    ----------
    best
        The way of least price; ``None`` where there is none.
    alternatives
        Up to three further ways, by price.
    blocked
        Why it cannot be played as given; empty exactly when ``as_written``.
    as_written
        Whether ``best`` is the arrangement as given.
    proven
        Whether no way can have a lower price than ``best``; without one, whether there is none at all.
    searched_to
        Every way below this price was looked at.
    """

    best: Proposal | None
    alternatives: tuple[Proposal, ...]
    blocked: tuple[Conflict, ...]
    as_written: bool
    proven: bool
    searched_to: Fraction

    @property
    def word(self) -> str:
        """How sure the search is, in a few words."""
        if self.as_written:
            return "as written"
        if self.proven:
            return "the smallest change there is" if self.best else "no change is enough"
        return f"searched up to a price of {float(self.searched_to):g}"


def mend(
    arrangement: Arrangement,
    *,
    tuning: Tuning = STANDARD,
    reach: Reach = STARTER,
    wishes: Wishes = NO_WISHES,
    changes: bool = True,
    hooks: Hooks = NO_HOOKS,
) -> Mended:
    """Find the easiest fingering, with the smallest change where one is needed.

    Parameters
    ----------
    arrangement
        The two lines with their capo; places that notes carry are kept if the lines can be played so.
    tuning, reach
        The guitar and the hand.
    wishes
        What the player wants kept. Wishes for single notes hold for the lines as given only; a highest fret
        and no barre hold for every change as well.
    changes
        Whether anything may be changed at all.
    hooks
        Progress, the first proposal, and a way to stop; once stopped, the best so far is returned, unproven.
    """
    tables = NeckTables(Neck(tuning, arrangement.capo, reach))
    wanted = replace(wishes, notes=(*chosen_places(arrangement).notes, *wishes.notes))
    answer = solve_with(tables, arrangement, wishes=wanted)
    if isinstance(answer, Fingering):
        return _settled(Proposal(arrangement, answer, (), FREE), as_written=True)
    if not changes:
        return Mended(None, (), answer.conflicts, as_written=False, proven=True, searched_to=FREE)
    kept = replace(wishes, notes=())
    free = _free_of_charge(tables, arrangement, kept, wanted)
    if free is not None:
        return _settled(free, blocked=answer.conflicts)
    register = register_for(arrangement, tables.neck)
    search = Search(in_register(arrangement, register), tables, kept, register, hooks)
    return _searched(search, answer)


def registered(arrangement: Arrangement, neck: Neck) -> tuple[Arrangement, Register]:
    """The arrangement with whole lines in the guitar's range, and how far they were moved."""
    register = register_for(arrangement, neck)
    return in_register(arrangement, register), register


def _free_of_charge(
    tables: NeckTables, arrangement: Arrangement, kept: Wishes, wanted: Wishes
) -> Proposal | None:
    """Without the fingers or places asked for, or with lines in register; ``None`` if that is not enough."""
    fewer = [replace(kept, notes=chosen_places(arrangement).notes), kept] if wanted.notes else []
    for wishes in fewer:
        answer = solve_with(tables, arrangement, wishes=wishes)
        if isinstance(answer, Fingering):
            return Proposal(arrangement, answer, (), FREE)
    moved, register = registered(arrangement, tables.neck)
    if register == Register():
        return None
    answer = solve_with(tables, moved, wishes=kept)
    if isinstance(answer, Blocked):
        return None
    told = whole_changes(register, Plan(capo=arrangement.capo), arrangement)
    return Proposal(moved, answer, tuple(told), FREE)


def _settled(best: Proposal, *, blocked: tuple[Conflict, ...] = (), as_written: bool = False) -> Mended:
    return Mended(best, (), blocked, as_written=as_written, proven=True, searched_to=best.price)


def _searched(search: Search, answer: Blocked) -> Mended:
    found = search.run()
    best = found[0] if found else None
    return Mended(
        best,
        tuple(found[1:]),
        answer.conflicts,
        as_written=False,
        proven=search.proven(best),
        searched_to=search.searched_to,
    )
