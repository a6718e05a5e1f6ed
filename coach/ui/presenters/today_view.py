"""What Today shows, made from where the player stands."""

from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from datetime import date, timedelta

from coach.practice.plan import Step, StepKind, plan_day
from coach.practice.progress import Progress
from coach.practice.proposals import Outlook, Proposal, outlook
from coach.practice.settings import Settings
from coach.practice.stages import SECTION_STAGES, Stage
from coach.sessions.services import Services
from coach.ui.presenters.days import day_words
from coach.ui.presenters.first_run import WELCOME
from coach.ui.presenters.keep_words import gentle_word
from coach.ui.presenters.map_view import NO_MAP, MapView, map_of

KNOWN_PACE_STAGES = len(SECTION_STAGES)
"""From so many settled stages on, one section's worth, the forecast is the player's own and is shown."""
_SCREEN_OF_TASK = {
    "choose": "choose",
    "three_notes": "first_run",
    "beat": "choose",
    "sections": "choose",
    "key": "fit",
    "find": "workbench",
    "settle": "workbench",
    "together": "together",
    "play": "play",
    "whole": "play",
    "take": "play",
    "finish": "finish",
}
_SCREEN_OF_KIND = {StepKind.TUNE: "tuner", StepKind.EAR: "ear", StepKind.REST: ""}


@dataclass(frozen=True, slots=True)
class StepView:
    """A step of today: ``kind`` is ``tune``, ``ear``, ``piece`` or ``rest``; it is done on ``screen``."""

    kind: str
    title: str
    minutes: int
    screen: str
    about: tuple[tuple[str, str], ...] = ()
    done: bool = False


@dataclass(frozen=True, slots=True)
class AimOffer:
    """A day to aim for, as it is offered."""

    day: date
    words: str


@dataclass(frozen=True, slots=True)
class SmallerOffer:
    """A smaller piece of work as it is offered: by its title, with the day that it would give."""

    title: str
    words: str


@dataclass(frozen=True, slots=True)
class TodayView:
    """What Today shows.

    Parameters
    ----------
    standing
        Where the piece stands, in one sentence.
    aim
        Aim and forecast, ``None`` before there are any.
    offers
        Days to aim for, when it is time to ask.
    smaller
        Smaller pieces of work that are offered where the aim would be missed.
    safe
        A word about a back-up that is due, empty else.
    """

    standing: str
    steps: tuple[StepView, ...]
    map: MapView = NO_MAP
    aim: str | None = None
    offers: tuple[AimOffer, ...] = ()
    smaller: tuple[SmallerOffer, ...] = ()
    first_day: bool = False
    safe: str = ""

    @property
    def following(self) -> StepView | None:
        """The first step that is not done and leads somewhere."""
        return next((step for step in self.steps if step.screen and not step.done), None)


def today_source(services: Services) -> Callable[[], TodayView]:
    """Reads the log anew at each call."""

    def read() -> TodayView:
        with closing(services.read_log()) as log:
            progress = log.progress()
        return today_view(progress, services.current_settings(), services.clock.today())

    return read


def today_view(progress: Progress, settings: Settings, today: date) -> TodayView:
    """Today's page from where the player stands."""
    if progress.seq == 0:
        return TodayView(WELCOME, (), first_day=True)
    plan = plan_day(progress, settings, today)
    ahead = outlook(progress, settings, today)
    piece = progress.piece
    return TodayView(
        plan.standing,
        tuple(_step(step) for step in plan.steps),
        map_of(piece) if piece is not None else NO_MAP,
        _aim_words(ahead, today),
        offers=_offers(ahead, today) if plan.ask_aim else (),
        smaller=tuple(_smaller(proposal, today) for proposal in ahead.proposals),
        safe=gentle_word(progress, today),
    )


def _step(step: Step) -> StepView:
    if step.work is None:
        return StepView(step.kind.value, step.title, step.minutes, _SCREEN_OF_KIND[step.kind], (), step.done)
    about: tuple[tuple[str, str], ...] = ()
    if step.section is not None:
        about = (("section", step.section), ("line", "bass" if step.stage is Stage.BASS else "melody"))
    screen = _SCREEN_OF_TASK[step.work.task]
    return StepView(step.kind.value, step.title, step.minutes, screen, about, step.done)


def _smaller(proposal: Proposal, today: date) -> SmallerOffer:
    return SmallerOffer(proposal.title, f"{proposal.title}: done about {day_words(proposal.day, today)}")


def _aim_words(ahead: Outlook, today: date) -> str | None:
    """Aim and forecast; before the player's own pace is known a forecast would only be the prior's."""
    parts, told = [], ahead.forecast
    if ahead.aim is not None:
        parts.append(f"You would like to finish by {day_words(ahead.aim, today)}.")
    if told is not None and (ahead.aim is not None or told.own_stages >= KNOWN_PACE_STAGES):
        early, likely, late = (day_words(day, today) for day in (told.p10, told.p50, told.p90))
        if told.p10 == told.p90:
            parts.append(f"At this pace you will be done on {likely}.")
        else:
            parts.append(f"At this pace you will be done about {likely}, between {early} and {late}.")
    if ahead.advice is not None:
        parts.append(ahead.advice)
    return " ".join(parts) or None


def _offers(ahead: Outlook, today: date) -> tuple[AimOffer, ...]:
    """Days to aim for: soon, likely, and with room to spare."""
    if ahead.forecast is None:
        return ()
    likely, late = ahead.forecast.p50, ahead.forecast.p90
    days = dict.fromkeys((likely, late, late + timedelta(weeks=2)))
    return tuple(AimOffer(day, f"by {day_words(day, today)}") for day in days)
