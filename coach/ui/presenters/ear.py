"""The day's ear set before it begins: what is due, and what it is good for."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

from typing_extensions import override

from coach.drills.kinds import Kind
from coach.errors import CoachError
from coach.practice.ear_piece import useful_skills
from coach.practice.ear_set import SetItem, Why
from coach.sessions.ports import UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.ui.context import Go
from coach.ui.presenters.ear_plan import EarPlan, plan_for
from coach.ui.presenters.ear_result import CAUTION
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Failed, Ready

GOOD_FOR = {
    Kind.SAME_HIGHER_LOWER: "hearing which way a tune goes",
    Kind.MATCH_NOTE: "finding any note you can hum",
    Kind.ECHO_NOTE: "keeping a note in your head while you look for it",
    Kind.HOME_NOTE: "hearing where the tune comes to rest",
    Kind.STEP_SKIP_REPEAT: "telling small moves of a tune from wide ones",
    Kind.DEGREE_OVER_DRONE: "hearing a note against the bass",
    Kind.INTERVAL_ECHO: "finding the next note of a tune",
    Kind.INTERVAL_FROM_NOTE: "finding a note from the one you have",
    Kind.BASS_MOVES: "following a bass line",
    Kind.TAP_BASS_CHANGE: "hearing when the bass moves",
    Kind.TWO_NOTE_CHORD: "hearing both lines at once",
    Kind.CHORD_OUTER: "hearing the lowest note under a harmony",
    Kind.PHRASE_ECHO: "keeping a whole phrase in your head",
    Kind.RHYTHM_ECHO: "writing down when notes come",
    Kind.NATURAL_NOTES: "knowing your first frets",
    Kind.OTHER_PLACES: "putting both lines within reach",
    Kind.PIECE_MOVES: "the moves of your own piece, in another key",
    Kind.NAME_INTERVAL: "speaking about what you hear",
}
"""What each kind is good for; common practice, no source."""
_WHY = {Why.DUE: "due", Why.NEW: "new", Why.AGAIN: "new", Why.EARLY: "early", Why.EASY: "easy, to end with"}


@dataclass(frozen=True, slots=True)
class DrillRow:
    """A drill of the set: how many times, why today, and what it is good for."""

    title: str
    count: int
    why: str
    good_for: str
    for_piece: bool = False


@dataclass(frozen=True, slots=True)
class EarView:
    """The set."""

    sentence: str
    rows: tuple[DrillRow, ...]
    sings: bool
    caution: str = ""
    faults: tuple[str, ...] = ()
    shorter: str = ""
    """Why the set is shorter than the settings ask for."""


class EarPresenter(Presenter[EarView]):
    """Shows the set and begins it."""

    def __init__(self, room: PracticeRoom, later: UiCalls, go: Go) -> None:
        super().__init__(later, Empty("Looking what is due."))
        self._room, self._go = room, go

    @override
    def opened(self) -> None:
        try:
            progress = self._room.journal.progress
            plan = plan_for(self._room.services, progress)
        except CoachError as error:
            self._show(Failed("The drills could not be read.", error.message))
            return
        if not plan.set.items:
            self._show(Empty("Nothing is due for the ear today.", "Back to Today"))
            return
        # The cautions stand on the first set of all.
        caution = "" if progress.skills else CAUTION
        self._show(Ready(replace(ear_view(plan), caution=caution)))

    @override
    def act(self) -> None:
        match self._view:
            case Ready():
                self._go("drill")
            case Empty():
                self._go("today")
            case _:
                self.opened()

    def sing(self, choice: str) -> None:
        """Whether the player can sing now (``yes`` or ``no``); kept until it is changed."""
        services = self._room.services
        try:
            services.settings().save(replace(services.current_settings(), can_sing=choice == "yes"))
        except CoachError as error:
            self._show(Failed("Your choice could not be kept.", error.message))
            return
        self.opened()


def ear_view(plan: EarPlan) -> EarView:
    """The set as it is shown."""
    items = plan.set.items
    useful = useful_skills([item.skill for item in items], plan.melody)
    minutes = max(1, ceil(plan.set.seconds / 60))
    counted = "1 drill" if len(items) == 1 else f"{len(items)} drills"
    return EarView(
        f"{counted}, about {'1 minute' if minutes == 1 else f'{minutes} minutes'}.",
        tuple(_rows(plan, items, useful)),
        plan.settings.can_sing,
        faults=plan.faults,
        shorter=_shorter(plan),
    )


def _shorter(plan: EarPlan) -> str:
    """A day has no room for a long set beside the piece; said, so that nobody wonders."""
    asked, planned = plan.settings.ear_minutes, plan.planned
    if planned >= asked:
        return ""
    return f"You asked for {asked} minutes; beside your piece today has room for {planned}."


def _rows(plan: EarPlan, items: Sequence[SetItem], useful: frozenset[str]) -> list[DrillRow]:
    """One row a drill, in the order in which it comes first."""
    by_drill: dict[str, list[SetItem]] = {}
    for item in items:
        by_drill.setdefault(item.skill.key.drill, []).append(item)
    return [
        DrillRow(
            plan.title(of_drill[0]),
            len(of_drill),
            _WHY[of_drill[0].why],
            GOOD_FOR[of_drill[0].skill.kind],
            any(item.skill.text in useful for item in of_drill),
        )
        for of_drill in by_drill.values()
    ]
