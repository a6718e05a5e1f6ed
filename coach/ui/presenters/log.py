"""The log: days, weeks, skills, pace, and every event as a list that can be searched."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta, tzinfo
from pathlib import Path

from typing_extensions import override

from coach.drills.data import SkillKey
from coach.errors import CoachError
from coach.practice.days import SkillSummary
from coach.practice.events import LoggedEvent
from coach.practice.logbook import pace_points
from coach.practice.logbook import weeks as weeks_of
from coach.practice.piece_state import PieceState
from coach.practice.progress import Progress
from coach.practice.proposals import Outlook, outlook
from coach.practice.sentences import sentence, titles_of
from coach.reports.html_file import report_html
from coach.reports.json_file import report_json
from coach.reports.values import Report
from coach.sessions.exchange import report_of, shared, take_to_share
from coach.sessions.file_names import file_stem
from coach.sessions.keeping import usual_folder
from coach.sessions.ports import UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.sessions.services import Services
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.drawn import DayMark, PaceView, SkillCell
from coach.ui.presenters.keep_words import gentle_word
from coach.ui.presenters.map_view import NO_MAP, MapView, map_of
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Failed, Ready, Working

BEAD_WEEKS = 5
CHART_WEEKS = 12
REPORTS = "reports"
"""Folder of the reports below the usual folder."""
SHOWN_EVENTS = 60
"""So many lines at a time: a longer list is searched, not scrolled."""
SURE, SHAKY = 0.85, 0.5
"""Mean credit from which a skill is called sure, or shaky (our own words)."""


@dataclass(frozen=True, slots=True)
class EventLine:
    """One event: when, and what."""

    when: str
    what: str


@dataclass(frozen=True, slots=True)
class LogView:
    """Everything on the log's page.

    Parameters
    ----------
    sentence
        How much was practised, in one sentence.
    weeks
        Beads: words of each week and its seven days, newest first.
    week_words, week_minutes, goal_minutes
        The chart of minutes a week, oldest first.
    events
        Newest first; those that hold the words looked for.
    found
        How many events fit, shown or not.
    pace
        How the piece went, ``None`` before it has sections.
    said
        Where a report was written.
    has_take
        Whether there is a whole take that could go along with a report.
    safe
        A word about a back-up that is due, empty else.
    """

    sentence: str
    weeks: tuple[tuple[str, tuple[DayMark, ...]], ...] = ()
    week_words: tuple[str, ...] = ()
    week_minutes: tuple[float, ...] = ()
    goal_minutes: float = 0.0
    map: MapView = NO_MAP
    skills: tuple[SkillCell, ...] = ()
    events: tuple[EventLine, ...] = ()
    found: int = 0
    pace: PaceView | None = None
    said: str = ""
    has_take: bool = False
    safe: str = ""


class LogPresenter(Presenter[LogView]):
    """Reads the log when the page is opened."""

    def __init__(self, room: PracticeRoom, later: UiCalls, jobs: JobRunner, go: Go) -> None:
        super().__init__(later, Empty("Reading the log."))
        self._room, self._services, self._jobs, self._go = room, room.services, jobs, go
        self._lines: tuple[EventLine, ...] = ()
        self._with_take = False

    @override
    def opened(self) -> None:
        try:
            log = self._services.read_log()
            try:
                progress, logged = log.progress(), tuple(log.events())
            finally:
                log.close()
            settings = self._services.current_settings()
        except CoachError as error:
            self._show(Failed("The log could not be read.", error.message))
            return
        if not logged:
            self._show(Empty("Nothing is in the log yet. It fills by itself while you practise.", "Begin"))
            return
        titles = titles_of(progress.pieces)
        zone = self._services.clock.now().tzinfo
        self._lines = tuple(_line(each, zone, titles) for each in reversed(logged))
        today = self._services.clock.today()
        view = log_view(progress, today, settings.minutes_a_day)
        view = replace(view, pace=pace_view(progress.piece, outlook(progress, settings, today), today))
        takes = any(piece.takes for piece in (progress.piece, *progress.finished) if piece is not None)
        view = replace(view, events=self._lines[:SHOWN_EVENTS], found=len(self._lines), has_take=takes)
        view = replace(view, safe=gentle_word(progress, today))
        self._show(Ready(view))

    @override
    def act(self) -> None:
        """Share with the teacher; from a notice: read again, or begin."""
        match self._view:
            case Ready():
                self._share()
            case Failed():
                self.opened()
            case _:
                self._go("today")

    def keep_safe(self) -> None:
        """To the back-ups."""
        self._go("keep")

    def plan_days(self) -> None:
        """To the practice days and reminders."""
        self._go("remind")

    def tick(self, word: str) -> None:
        """Whether the last take goes along: only by this tick, and only this once."""
        self._with_take = word == "yes"

    def _share(self) -> None:
        """Write a report of what was done since the last lesson, for the player to send."""
        self._show(Working("Writing the report", None, can_cancel=False))
        self._jobs.start(lambda _jobs: self._write(), done=self._shared, failed=self._not_shared)

    def _write(self) -> tuple[Path, ...]:
        services, today = self._services, self._services.clock.today()
        log = services.read_log()
        try:
            progress = log.progress()
            last = progress.reported_at
            since = None if last is None else last.date()
            name = services.current_settings().name
            report = report_of(services, log, since=since, name=name)
        finally:
            log.close()
        take = take_to_share(services, progress) if self._with_take else None
        who = f"{file_stem(name, 'learner')}-" if name else ""
        path = usual_folder(services) / REPORTS / f"report-{who}{today.isoformat()}.html"
        services.files().write(path, report_html(report))
        services.files().write(path.with_suffix(".json"), report_json(report))
        services.files().write(path.with_suffix(".pdf"), _for_print(services, report))
        shared(self._room.journal, since, with_takes=take is not None)
        if take is None:
            return (path,)
        sound = path.with_name(f"take-{who}{today.isoformat()}.flac")
        services.files().write(sound, take)
        return (path, sound)

    def _shared(self, paths: tuple[Path, ...]) -> None:
        self._with_take = False
        self.opened()
        if isinstance(self._view, Ready):
            path, *sound = paths
            said = (
                f"The report is here: {path}. Send it to your teacher; beside it are the same "
                "for print (.pdf) and for their app (.json)."
            )
            said += "".join(f" Your take is here: {each}." for each in sound)
            self._show(Ready(replace(self._view.value, said=said)))

    def _not_shared(self, error: CoachError) -> None:
        self._show(Failed("The report could not be written.", error.message))

    def search(self, query: str) -> None:
        """Show only events that hold all the words of a query."""
        if not isinstance(self._view, Ready):
            return
        words = query.casefold().split()
        lines = [line for line in self._lines if _fits(line, words)]
        view = replace(self._view.value, events=tuple(lines[:SHOWN_EVENTS]), found=len(lines))
        self._show(Ready(view))


def _for_print(services: Services, report: Report) -> bytes:
    # The PDF library is needed here only.
    from coach.reports.pdf_file import report_pdf  # noqa: PLC0415

    fonts = services.fonts()
    return report_pdf(report, fonts.regular, fonts.bold)


def _fits(line: EventLine, words: list[str]) -> bool:
    said = f"{line.when} {line.what}".casefold()
    return all(word in said for word in words)


def log_view(progress: Progress, today: date, minutes_a_day: int) -> LogView:
    """The page without its list of events."""
    minutes = {day.day: day.practice_s / 60 for day in progress.days if day.practised}
    monday = today - timedelta(days=today.weekday())
    first = progress.started_on or today
    shown = min(BEAD_WEEKS, (monday - first).days // 7 + 2) if first <= monday else 1
    weeks = tuple(_beads(monday - timedelta(weeks=back), minutes, today) for back in range(shown))
    charted = weeks_of(progress.days)[-CHART_WEEKS:]
    return LogView(
        sentence=_sentence(minutes, monday),
        weeks=weeks,
        week_words=tuple(f"{week.monday.day} {week.monday:%b}" for week in charted),
        week_minutes=tuple(week.practice for week in charted),
        goal_minutes=7.0 * minutes_a_day,
        map=map_of(progress.piece) if progress.piece is not None else NO_MAP,
        skills=skill_cells(progress.skills.values()),
    )


def pace_view(piece: PieceState | None, ahead: Outlook, today: date) -> PaceView | None:
    """How the piece in hand went against its aim; ``None`` before it has sections."""
    if piece is None or not piece.sections:
        return None
    start = piece.chosen_on

    def since(day: date) -> float:
        return float((day - start).days)

    points = [(since(point.day), point.share) for point in pace_points(piece)]
    if points[-1][0] < since(today):
        points.append((since(today), points[-1][1]))
    early = late = None
    if ahead.forecast is not None:
        early, late = since(ahead.forecast.p10), since(ahead.forecast.p90)
    aim = None if ahead.aim is None else since(ahead.aim)
    days = max(7.0, points[-1][0], aim or 0.0, late or 0.0)
    end = start + timedelta(days=days)
    words = (f"{start.day} {start:%b}", f"{end.day} {end:%b}")
    return PaceView(tuple(points), days, aim, early, late, words)


def skill_cells(skills: Iterable[SkillSummary]) -> tuple[SkillCell, ...]:
    """One cell a drill: the mean over its skills that were answered."""
    by_drill: dict[str, list[SkillSummary]] = {}
    for skill in skills:
        if skill.answers:
            by_drill.setdefault(_drill_of(skill.skill), []).append(skill)
    cells = []
    for drill, of_drill in by_drill.items():
        sure = sum(skill.sureness or 0.0 for skill in of_drill) / len(of_drill)
        answers = sum(skill.answers for skill in of_drill)
        word = "sure" if sure >= SURE else "shaky" if sure >= SHAKY else "often missed"
        counted = "1 answer" if answers == 1 else f"{answers} answers"
        cells.append(SkillCell(drill.replace("-", " ").capitalize(), sure, f"{word}, {counted}"))
    return tuple(cells)


def _drill_of(skill: str) -> str:
    try:
        return SkillKey.parse(skill).drill
    except ValueError:
        return skill


def _line(logged: LoggedEvent, zone: tzinfo | None, titles: Mapping[str, str]) -> EventLine:
    at = logged.at.astimezone(zone)
    return EventLine(f"{at.day} {at:%b} {at:%H:%M}", sentence(logged.event, titles))


def _beads(monday: date, minutes: dict[date, float], today: date) -> tuple[str, tuple[DayMark, ...]]:
    days = [monday + timedelta(days=offset) for offset in range(7)]
    marks = tuple(DayMark(f"{day.day} {day:%b}", minutes.get(day, 0.0), today=day == today) for day in days)
    return (f"{monday.day} {monday:%b}", marks)


def _sentence(minutes: dict[date, float], monday: date) -> str:
    days = sum(1 for day in minutes if day >= monday)
    spent = sum(value for day, value in minutes.items() if day >= monday)
    if not days:
        return "Nothing was practised this week yet."
    whole = round(spent)
    said = "Less than a minute" if whole == 0 else "1 minute" if whole == 1 else f"{whole} minutes"
    return f"{said} this week, on {'1 day' if days == 1 else f'{days} days'}."
