"""Smaller work when the forecast slips past the aim: a smaller piece is offered, not a later date."""

from dataclasses import dataclass, replace
from datetime import date
from random import Random

from coach.practice.events import SmallerAccepted
from coach.practice.forecast import JOINING_MINUTES_A_BAR, Forecast, WorkLeft, forecast, work_left
from coach.practice.pace import sections_before
from coach.practice.piece_state import Cell, PieceState
from coach.practice.progress import Progress
from coach.practice.settings import Settings
from coach.practice.stages import Stage

MOST_PROPOSALS = 3
SIMPLER_BASS = "One bass note a bar"
SIMPLER_BASS_SHARE = 0.6
"""Share of the bass work with only the first note of each bar. Our own assumption, no source."""
SEED = 20
"""All forecasts of one evening use the same chance, so that they differ only by the work."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A smaller piece of work, and the day it would give."""

    title: str
    dropped_sections: tuple[str, ...]
    day: date

    def accepted(self, piece: str) -> SmallerAccepted:
        """The event that accepts it."""
        return SmallerAccepted(piece, self.title, self.dropped_sections)


@dataclass(frozen=True, slots=True)
class Outlook:
    """The forecast beside the aim.

    Parameters
    ----------
    on_track
        Whether half the runs end by the aim; ``None`` without forecast or aim.
    advice
        One sentence, ``None`` where there is nothing to say.
    proposals
        Up to three, the smallest loss first; empty while on track.
    """

    aim: date | None = None
    forecast: Forecast | None = None
    on_track: bool | None = None
    advice: str | None = None
    proposals: tuple[Proposal, ...] = ()


def outlook(progress: Progress, settings: Settings, today: date) -> Outlook:
    """Forecast, aim, and smaller work where the aim would be missed."""
    piece = progress.piece
    left = None if piece is None else _planned_work(progress, piece)
    told = forecast(progress, settings, today, Random(SEED), work=left)
    if piece is None or told is None:
        return Outlook(aim=piece.aim if piece is not None else None)
    if piece.aim is None:
        return Outlook(forecast=told, advice=_without_aim(piece))
    on_track = told.p50 <= piece.aim
    if on_track:
        return Outlook(piece.aim, told, on_track, "You are on the way to your aim.")
    offers = _proposals(progress, piece, settings, today, told.p50)
    if not offers:
        advice = "The aim is close: there is nothing to leave out any more, so just the next small step."
    else:
        advice = f"At this pace it will be later than your aim: {_small(offers[0].title)}?"
    return Outlook(piece.aim, told, on_track, advice, offers)


def _small(title: str) -> str:
    return title[0].lower() + title[1:]


def _without_aim(piece: PieceState) -> str | None:
    if any(section.once_good_enough for section in piece.sections):
        return "Your pace is known now: when would you like to be done?"
    return None


def _planned_work(progress: Progress, piece: PieceState) -> WorkLeft | None:
    if not piece.sections:
        return None
    left = work_left(piece, sections_before(progress, piece))
    return _with_simpler_bass(left) if SIMPLER_BASS in piece.accepted else left


def _with_simpler_bass(left: WorkLeft) -> WorkLeft:
    stages = tuple(
        replace(
            stage,
            bars=stage.bars * SIMPLER_BASS_SHARE,
            spent_minutes=stage.spent_minutes * SIMPLER_BASS_SHARE,
        )
        if stage.stage is Stage.BASS
        else stage
        for stage in left.stages
    )
    return replace(left, stages=stages)


def _proposals(
    progress: Progress, piece: PieceState, settings: Settings, today: date, unchanged: date
) -> tuple[Proposal, ...]:
    """What would help, in order of what is lost by it."""

    def day(work: WorkLeft) -> date:
        told = forecast(progress, settings, today, Random(SEED), work=work)
        return unchanged if told is None else told.p50

    left = _planned_work(progress, piece)
    if left is None:
        return ()
    offers = []
    bass_open = any(section.bass.cell is not Cell.SETTLED for section in piece.sections)
    if bass_open and SIMPLER_BASS not in piece.accepted:
        offers.append(Proposal(SIMPLER_BASS, (), day(_with_simpler_bass(left))))
    untouched = [section.name for section in piece.sections if not section.begun]
    kept = len(piece.sections) - len(untouched)
    for count in range(1, len(untouched) + (kept > 0)):
        names = tuple(untouched[-count:])
        offers.append(Proposal(_leave_out(names), names, day(_without_sections(piece, left, names))))
    useful = [offer for offer in offers if offer.day < unchanged]
    return tuple(useful[:MOST_PROPOSALS])


def _leave_out(names: tuple[str, ...]) -> str:
    if len(names) == 1:
        return f"Leave out section {names[0]} this time"
    return f"Leave out sections {', '.join(names[:-1])} and {names[-1]} this time"


def _without_sections(piece: PieceState, left: WorkLeft, names: tuple[str, ...]) -> WorkLeft:
    """What is left without some untouched sections at the end."""
    gone = [section.bars(piece.meter) for section in piece.sections if section.name in names]
    kept = left.stages[: len(left.stages) - 4 * len(gone)]
    joining = JOINING_MINUTES_A_BAR * sum(gone)
    return replace(left, stages=kept, ending_minutes=left.ending_minutes - joining)
