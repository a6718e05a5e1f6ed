"""Where the presenters' needs are met from `Services`; knows no Kivy."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from coach.practice.progress import Progress
from coach.practice.settings import Settings
from coach.practice.stages import Stage
from coach.ui.presenters.map_view import map_of
from coach.ui.presenters.today import StepView, TodayView
from coach.ui.theme import Look, theme_for

if TYPE_CHECKING:
    from coach.sessions.services import Services

_SCREEN_OF_STAGE = {
    Stage.MELODY: "workbench",
    Stage.BASS: "workbench",
    Stage.TOGETHER: "together",
    Stage.PLAYED: "play",
}
_TITLE_OF_STAGE = {
    Stage.MELODY: "Find the tune of section {}",
    Stage.BASS: "Find the bass of section {}",
    Stage.TOGETHER: "Put both lines of section {} on the neck",
    Stage.PLAYED: "Play section {}",
}


def look_of(settings: Settings, hour: int) -> Look:
    """How things are shown, by the player's settings and the hour of the day."""
    return Look(
        theme=theme_for(hour, dark=settings.dark),
        text_scale=min(1.5, max(1.0, settings.text_scale)),
        naming=settings.naming,
        left_handed=settings.left_handed,
        reduced_motion=settings.reduced_motion,
    )


def today_source(services: "Services") -> Callable[[], TodayView]:
    """Reads the log anew at each call."""

    def read() -> TodayView:
        return today_view(services.read_log().progress(), services.current_settings())

    return read


def today_view(progress: Progress, settings: Settings) -> TodayView:
    """Today's page from where the player stands."""
    piece = progress.piece
    if progress.seq == 0:
        return TodayView(
            "Turn a recording you like into your first arrangement for one guitar, a few minutes a day.",
            (),
            first_day=True,
        )
    ear = min(settings.ear_minutes, settings.minutes_a_day)
    steps = [StepView("tune", "Tune the guitar", 2, "tuner"), StepView("ear", "Train the ear", ear, "ear")]
    left = max(3, settings.minutes_a_day - 2 - ear)
    if piece is None:
        steps.append(StepView("piece", "Choose a piece", left, "choose"))
        return TodayView("You have no piece in hand: choose one today.", tuple(steps))
    section = piece.next_section
    stage = section.next_stage if section is not None else None
    if section is None or stage is None:
        steps.append(StepView("piece", "Finish the piece", left, "finish" if piece.sections else "choose"))
        return TodayView(
            "Every section is good enough: record one whole take."
            if piece.sections
            else "Next, cut the piece into sections.",
            tuple(steps),
            piece.title,
            map_of(piece),
        )
    about = (("section", section.name), ("line", "bass" if stage is Stage.BASS else "melody"))
    title = _TITLE_OF_STAGE[stage].format(section.name)
    steps.append(StepView("piece", title, left, _SCREEN_OF_STAGE[stage], about))
    done = sum(each.good_enough for each in piece.sections)
    count = len(piece.sections)
    standing = f"{done} of {count} sections are good enough. Section {section.name} is next."
    return TodayView(standing, tuple(steps), piece.title, map_of(piece))
