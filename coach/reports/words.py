"""The sentences and tables of a report, the same on the screen and on paper."""

from dataclasses import dataclass

from coach.practice.piece_state import Cell
from coach.practice.stages import Stage
from coach.reports.values import ForecastReport, PieceReport, Report, WhereReport

_STAGES = {
    Stage.CHOOSE: "choosing",
    Stage.MELODY: "melody",
    Stage.BASS: "bass",
    Stage.TOGETHER: "both lines together",
    Stage.PLAYED: "playing",
}
_CELLS = {Cell.EMPTY: "-", Cell.BEGUN: "begun", Cell.SETTLED: "good enough"}


@dataclass(frozen=True, slots=True)
class Table:
    """A table of texts, with a row of heads."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def title_of(report: Report) -> str:
    """The headline."""
    who = f" of {report.name}" if report.name else ""
    return f"Practice report{who}, {report.made_on.isoformat()}"


def summary(report: Report) -> tuple[str, ...]:
    """Where things stand, in a few sentences."""
    said = [report.standing]
    if report.where is not None:
        said.append(_where(report.where))
    if report.forecast is not None:
        said.append(_forecast(report.forecast))
    minutes = sum(day.practice for day in report.days)
    span = f"Since {report.since.isoformat()}" if report.since is not None else "So far"
    said.append(f"{span}: {len(report.days)} days with practice, {minutes:.0f} minutes.")
    return tuple(said)


def _where(where: WhereReport) -> str:
    said = (
        f"Section {where.section}, {_STAGES[where.stage]}, since {where.since.isoformat()}: "
        f"{where.practice_days} days with practice and {where.minutes:.0f} minutes "
        f"(usually about {where.usual_minutes:.0f}), {where.checks} checks, {where.hints} hints."
    )
    return said + (" It takes much longer than usual: help is welcome here." if where.stuck else "")


def _forecast(told: ForecastReport) -> str:
    said = (
        f"At this pace the piece is done about {told.p50.isoformat()} "
        f"(between {told.p10.isoformat()} and {told.p90.isoformat()}, eight times in ten)."
    )
    return said if told.advice is None else f"{said} {told.advice}"


def sections_table(piece: PieceReport) -> Table:
    """Each section with its stages and what it took."""
    heads = ("Section", "Bars", "Melody", "Bass", "Together", "Played", "Minutes", "Checks", "Hints", "Open")
    rows = tuple(
        (
            section.name,
            f"{section.bars:g}",
            *(_CELLS[c] for c in (section.melody, section.bass, section.together, section.played)),
            f"{section.minutes:.0f}",
            str(section.checks),
            str(section.hints),
            str(section.open_questions),
        )
        for section in piece.sections
    )
    return Table(heads, rows)


def piece_facts(piece: PieceReport) -> tuple[str, ...]:
    """What else is to be told of a piece."""
    facts = [
        f"{piece.state.capitalize()}; chosen {piece.chosen_on.isoformat()}; {piece.minutes:.0f} minutes."
    ]
    if piece.finished_on is not None:
        facts.append(f"Finished {piece.finished_on.isoformat()}.")
    if piece.takes:
        facts.append(f"{piece.takes} whole take{'s' if piece.takes > 1 else ''} kept.")
    facts += [f"Made smaller: {each}." for each in piece.made_smaller]
    facts += [f"Changed for the hand: {each}" for each in piece.changes]
    facts += [f"For next time: {each}" for each in piece.next_time]
    return tuple(facts)


def days_table(report: Report) -> Table:
    """The days, the latest first."""
    heads = ("Day", "Minutes", "Ear", "Piece", "Drills", "Right", "Checks", "Hints")
    rows = tuple(
        (
            day.day.isoformat(),
            f"{day.practice:.0f}",
            f"{day.ear:.0f}",
            f"{day.piece:.0f}",
            str(day.drills),
            str(day.drills_right),
            str(day.checks),
            str(day.hints),
        )
        for day in reversed(report.days)
    )
    return Table(heads, rows)


def entries_table(report: Report) -> Table:
    """The events of note, the latest first."""
    rows = tuple((f"{entry.at:%Y-%m-%d %H:%M}", entry.text) for entry in reversed(report.entries))
    return Table(("When", "What"), rows)
