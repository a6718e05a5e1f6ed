"""Practice days, and reminders for the player's own calendar."""

import re
from dataclasses import dataclass, replace
from datetime import date, time

from typing_extensions import override

from coach.errors import CoachError
from coach.practice.settings import Settings
from coach.sessions.keeping import usual_folder
from coach.sessions.ports import UiCalls
from coach.sessions.reminding import REMINDERS, Reminders, write_reminders
from coach.sessions.services import Services
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.days import day_words
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Ready, Working
from coach.ui.presenters.weekdays import COUNTED_ON, days_words, toggled

STEP_MIN = 15
_DAY_MIN = 24 * 60
_TYPED = re.compile(r"\s*(\d{1,2})(?:\s*[:.h ]\s*|(?=\d\d\s*$))(\d{2})\s*|\s*(\d{1,2})\s*[h:]?\s*")
"""18:30, 18.30, 18 30, 1830, 18h30, or the hour alone."""


@dataclass(frozen=True, slots=True)
class RemindView:
    """The page.

    Parameters
    ----------
    days
        The weekdays chosen, 0 is Monday.
    days_said
        What they mean.
    at
        Time of day.
    said, good
        What came of the last thing done, and whether it went well.
    """

    days: tuple[int, ...]
    days_said: str
    at: str
    said: str = ""
    good: bool = True


class RemindPresenter(Presenter[RemindView]):
    """Keeps days and time as soon as they are chosen; writes the calendar file.

    Parameters
    ----------
    back
        The screen that led here: the log, or set-up.
    """

    def __init__(
        self, services: Services, later: UiCalls, jobs: JobRunner, go: Go, back: str = "log"
    ) -> None:
        super().__init__(later, Empty("Looking up your days."))
        self._services, self._jobs, self._go, self._back = services, jobs, go, back

    @override
    def opened(self) -> None:
        self._turn()

    @override
    def closed(self) -> None:
        self.cancel()

    @override
    def act(self) -> None:
        """Write the calendar file."""
        if not isinstance(self._view, Ready):
            self._turn()
            return
        services = self._services
        self._show(Working("Writing the calendar file", None, can_cancel=False))
        self._job = self._jobs.start(
            lambda _jobs: write_reminders(services, usual_folder(services) / REMINDERS),
            done=lambda made: self._turn(written_words(made, services.clock.today()), good=True),
            failed=lambda error: self._turn(error.message),
        )

    def back(self) -> None:
        """Back to where one came from."""
        if self._back == "setup":
            self._go("setup", card="day")
        else:
            self._go("log")

    def toggle(self, day: str) -> None:
        """Choose a weekday, or leave it out."""
        settings = self._settings
        self._keep(replace(settings, practice_days=toggled(settings.practice_days, int(day))))

    def step(self, by: int) -> None:
        """Earlier (-1) or later (1), to the next quarter of an hour."""
        settings = self._settings
        self._keep(replace(settings, reminder_at=f"{stepped(settings.reminder_time, by):%H:%M}"))

    def type_time(self, text: str) -> None:
        """A time that was typed."""
        at = typed_time(text)
        if at is None:
            self._turn(f"“{text.strip()}” is no time of day: write it like 18:30.")
        else:
            self._keep(replace(self._settings, reminder_at=f"{at:%H:%M}"))

    @property
    def _settings(self) -> Settings:
        return self._services.current_settings()

    def _keep(self, settings: Settings) -> None:
        try:
            self._services.settings().save(settings)
        except CoachError as error:
            self._turn(error.message)
        else:
            self._turn()

    def _turn(self, said: str = "", *, good: bool = False) -> None:
        settings = self._settings
        days = tuple(sorted(set(settings.practice_days)))
        words = f"You mean to practise {days_words(days)}. {COUNTED_ON}"
        self._show(Ready(RemindView(days, words, settings.reminder_at, said, good)))


def stepped(at: time, by: int) -> time:
    """The next quarter of an hour after (1) or before (-1) a time, round the clock."""
    minutes = at.hour * 60 + at.minute
    quarter = minutes // STEP_MIN + 1 if by > 0 else -(-minutes // STEP_MIN) - 1
    return time(*divmod(quarter * STEP_MIN % _DAY_MIN, 60))


def typed_time(text: str) -> time | None:
    """A time of day as people type it, ``None`` if it is none."""
    found = _TYPED.fullmatch(text)
    if found is None:
        return None
    hour, minute = (found[1], found[2]) if found[1] else (found[3], "0")
    try:
        return time(int(hour), int(minute))
    except ValueError:
        return None


def written_words(made: Reminders, today: date) -> str:
    """Where the file is, what it says, what to do with it."""
    until = "" if made.until is None else f", until your aim on {day_words(made.until, today)}"
    return (
        f"The reminders are here: {made.path}. Open it with your calendar: it reminds you "
        f"{days_words(made.weekdays)} at {made.at:%H:%M}{until}. "
        "Reminders you took over before stay there until you delete them."
    )
