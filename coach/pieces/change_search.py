"""The search for the smallest change: plans for the whole piece, from the cheapest up.

Within each plan the least price of changes to single bass notes is found exactly. A plan costs at least its
own price, so once the next plan costs more than the best total found, that total is proven to be the least.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from coach.fretboard import Fingering, Freedom, Neck, Wishes
from coach.fretboard.least import Fits, least_price
from coach.fretboard.score import Score
from coach.fretboard.solve import solve_with
from coach.fretboard.trellis import NeckTables
from coach.notation.arrangement import Arrangement
from coach.notation.line import Line, LineKind
from coach.pieces.change_kinds import PRICES, Change, ChangeKind
from coach.pieces.change_plan import (
    Plan,
    Register,
    carried_out,
    in_range,
    in_register,
    octaves_words,
    plans,
    whole_changes,
)
from coach.pieces.change_rescue import Moved, Rescue, may_move, with_moved

SHOWN = 4
"""The best way and the next three."""
EFFORT = 500_000
"""Moments of music looked at before the search is content with the best it has: every plan for 32 bars of
eighths. Counted, not timed, so that the answer is the same on every machine."""
FURTHER_EFFORT = 100_000
"""The same once the best is proven and only the next ones are looked for."""
EARLY_PLANS = 60
"""After so many plans in vain a way of the last resort is shown, if one is found quickly."""
EARLY_EFFORT = 30_000
RESCUE_EFFORT = 150_000
"""The same for the last resort."""


@dataclass(frozen=True, slots=True)
class Hooks:
    """Who is told about a search, and who may stop it.

    Parameters
    ----------
    on_first
        Told the first proposal as soon as there is one; a better one may follow.
    on_progress
        Told the share of all plans done, 0 to 1; it may end early.
    cancelled
        Asked before every plan; once true, the best so far is returned.
    """

    on_first: Callable[["Proposal"], None] = lambda _proposal: None
    on_progress: Callable[[float], None] = lambda _share: None
    cancelled: Callable[[], bool] = lambda: False


NO_HOOKS = Hooks()


@dataclass(frozen=True, slots=True)
class Proposal:
    """One way to play.

    Parameters
    ----------
    arrangement
        As it would sound, all changes carried out.
    fingering
        How it is played; its neck holds the tuning and the capo.
    changes
        What was changed; empty for the arrangement as given.
    price
        Points for all changes.
    """

    arrangement: Arrangement
    fingering: Fingering
    changes: tuple[Change, ...]
    price: Fraction


@dataclass(frozen=True, slots=True)
class _Found:
    """A plan that works: its price, that of the changes to single notes, and what was allowed there."""

    plan: Plan
    plan_price: Fraction
    note_price: Fraction
    freedom: Freedom
    moved: Moved = ()

    @property
    def total(self) -> Fraction:
        return self.plan_price + self.note_price

    def makes_vain(self, other: "_Found", arrangement: Arrangement) -> bool:
        """Whether the other one does all that this one does to the piece, and spares no note for it."""
        if self.plan == other.plan:
            return self.note_price == other.note_price
        return other.plan.adds_to(self.plan, arrangement.capo) and other.note_price >= self.note_price


class Search:
    """One search; `run` it once.

    Parameters
    ----------
    arrangement
        The lines in register.
    tables
        The neck as given, with its tables.
    wishes
        Kept whatever is changed.
    register
        How far the lines were moved to get there, at no price.
    hooks
        Who is told, and who may stop it.
    """

    def __init__(
        self,
        arrangement: Arrangement,
        tables: NeckTables,
        wishes: Wishes,
        register: Register,
        hooks: Hooks = NO_HOOKS,
    ) -> None:
        self._arrangement = arrangement
        self._tables = tables
        self._wishes = wishes
        self._register = register
        self._hooks = hooks
        self._fits: dict[tuple[bool, int], Fits] = {}
        self._scores: dict[tuple[int, int, Freedom, Moved], Score] = {}
        self._kept: list[_Found] = []
        self._effort = 0
        self.searched_to = Fraction(0)
        self.exhausted = False
        self._rescued = False

    def run(self) -> list[Proposal]:
        """The best proposals, the cheapest first: at most `SHOWN`, none that only adds to a better one."""
        every = plans(self._arrangement.capo, self._register)
        for count, plan in enumerate(every):
            price = plan.price(self._arrangement.capo, self._register)
            self.searched_to = price
            worth = self._worth()
            if self._hooks.cancelled() or (worth is not None and price >= worth):
                break
            if self._kept and self._effort > self._allowance(price):
                break
            self._try(plan, price)
            if count == EARLY_PLANS and not self._kept:
                self._show_early(every)
            self._hooks.on_progress(count / len(every))
        else:
            self.exhausted = True
        if not self._kept and self.exhausted:
            self._rescue(every)
        return [self._proposal(found) for found in self._kept]

    def proven(self, best: Proposal | None) -> bool:
        """Whether no way can have a lower price; without one, whether there is none at all."""
        if self._rescued and best is not None:
            return False
        return self.exhausted or (best is not None and best.price <= self.searched_to)

    def _rescue(self, every: list[Plan]) -> None:
        """Nothing is enough: move single bass notes away from the tune, in one plan after the other."""
        self._rescued = True
        for found in self._rescues(every, RESCUE_EFFORT):
            self._keep(found)

    def _show_early(self, every: list[Plan]) -> None:
        """Many plans were in vain: show a way of the last resort while the search goes on."""
        found = next(self._rescues(every, EARLY_EFFORT), None)
        if found is not None:
            self._hooks.on_first(self._proposal(found))

    def _rescues(self, every: list[Plan], effort: int) -> Iterator[_Found]:
        """Ways of the last resort, one for each plan that has any, while there can be a cheaper one."""
        began = self._effort
        best: Fraction | None = None
        for plan in every:
            price = plan.price(self._arrangement.capo, self._register)
            enough = best is not None and price >= best
            if enough or self._effort - began > effort or self._hooks.cancelled():
                break
            if not in_range(self._arrangement, plan):
                continue
            rescued = Rescue(self._fits_of(plan), self._wishes, self._scores_of(plan)).find()
            if rescued is not None:
                moved, note_price = rescued
                octaves = PRICES.bass_note_octave * sum(abs(by) for _, by in moved)
                found = _Found(plan, price, note_price + octaves, self._whole_freedom(), moved)
                best = found.total if best is None else min(best, found.total)
                yield found

    def _scores_of(self, plan: Plan) -> Callable[[Moved], Score | None]:
        """The plan's score with some bass notes moved; each is counted as an effort."""

        def score_of(moved: Moved) -> Score | None:
            lines = in_register(self._arrangement, Register(plan.melody, plan.bass))
            if not may_move(lines, moved):
                return None
            score = self._score(plan, self._whole_freedom(), moved).transposed(plan.semitones)
            self._effort += len(score.moments)
            return score

        return score_of

    def _allowance(self, price: Fraction) -> int:
        """The effort allowed once a plan of this price is next."""
        return FURTHER_EFFORT if price >= self._kept[0].total else EFFORT

    def _worth(self) -> Fraction | None:
        """What a total must be below to be shown; ``None`` while anything is welcome."""
        return self._kept[-1].total if len(self._kept) == SHOWN else None

    def _try(self, plan: Plan, price: Fraction) -> None:
        if not in_range(self._arrangement, plan):
            return
        whole = self._whole_freedom()
        allowed: tuple[Freedom, ...] = (whole,)
        if plan == Plan(capo=self._arrangement.capo):
            allowed = (whole, replace(whole, raised=None), replace(whole, shorten=None))
        for freedom in allowed:
            worth = self._worth()
            score = self._score(plan, freedom).transposed(plan.semitones)
            limits = [
                kept.note_price for kept in self._kept if plan.adds_to(kept.plan, self._arrangement.capo)
            ]
            if worth is not None:
                limits.append(worth - price)
            limit = min(limits, default=None)
            self._effort += len(score.moments)
            least = least_price(score, self._fits_of(plan), self._wishes, at_most=limit)
            if least.price is not None:
                self._keep(_Found(plan, price, least.price, freedom))

    def _keep(self, found: _Found) -> None:
        first = not self._kept
        kept: list[_Found] = []
        for one in sorted([*self._kept, found], key=lambda item: item.total):
            if not any(better.makes_vain(one, self._arrangement) for better in kept):
                kept.append(one)
        self._kept = kept[:SHOWN]
        if first:
            self._hooks.on_first(self._proposal(found))

    def _whole_freedom(self) -> Freedom:
        return Freedom(
            shorten=PRICES.shorten_quarter,
            raised=PRICES.bass_note_octave,
            beat=self._arrangement.meter.beat,
        )

    def _score(self, plan: Plan, freedom: Freedom, moved: Moved = ()) -> Score:
        """The lines at the plan's octaves; its transposition is added afterwards."""
        key = (plan.melody, plan.bass, freedom, moved)
        if key not in self._scores:
            lines = in_register(self._arrangement, Register(plan.melody, plan.bass))
            self._scores[key] = Score.of(with_moved(lines, moved), freedom)
        return self._scores[key]

    def _neck(self, plan: Plan) -> Neck:
        return replace(self._tables.neck, tuning=plan.tuned(self._tables.neck.tuning), capo=plan.capo)

    def _fits_of(self, plan: Plan) -> Fits:
        key = (plan.lowered, plan.capo)
        if key not in self._fits:
            self._fits[key] = Fits(self._neck(plan), no_barre=self._wishes.no_barre)
        return self._fits[key]

    def _proposal(self, found: _Found) -> Proposal:
        carried = carried_out(self._arrangement, found.plan)
        before = with_moved(carried, found.moved)
        neck = self._neck(found.plan)
        tables = self._tables if neck == self._tables.neck else NeckTables(neck)
        fingering = solve_with(tables, before, wishes=self._wishes, freedom=found.freedom)
        if not isinstance(fingering, Fingering):
            raise TypeError("a plan that works has a fingering")
        changes = (
            *whole_changes(self._register, found.plan, self._arrangement),
            *_moved_changes(carried, found.moved),
            *_note_changes(fingering),
        )
        return Proposal(_as_played(before, fingering), fingering, changes, found.total)


def _moved_changes(before: Arrangement, moved: Moved) -> Iterator[Change]:
    for index, octaves in moved:
        note = before.bass.notes[index]
        detail = f"{note.pitch.name} {octaves_words(octaves)}"
        price = PRICES.bass_note_octave * abs(octaves)
        yield Change(ChangeKind.BASS_NOTE_OCTAVE, detail, price, LineKind.BASS, note.onset)


def _note_changes(fingering: Fingering) -> Iterator[Change]:
    for note in fingering.notes:
        onset = note.given.onset
        if note.raised:
            detail = f"{note.given.pitch.name} an octave higher"
            yield Change(ChangeKind.BASS_NOTE_OCTAVE, detail, PRICES.bass_note_octave, note.line, onset)
        if note.shortened:
            detail = f"held for {note.note.duration} instead of {note.given.duration} quarters"
            yield Change(ChangeKind.SHORTEN_BASS, detail, note.short_price, note.line, onset)


def _as_played(arrangement: Arrangement, fingering: Fingering) -> Arrangement:
    """The arrangement with its single notes changed as the fingering has them."""
    for kind in LineKind:
        notes = (replace(note.note, place=None) for note in fingering.notes if note.line is kind)
        arrangement = arrangement.with_line(Line.of(kind, notes))
    return arrangement
