"""The charts of a report: the two-line map, the days, the ear skills, the pace."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from coach.practice.piece_state import Cell
from coach.reports.drawing import Box, Chart, Disc, Ink, Label, Path, Shape
from coach.reports.values import DayReport, ForecastReport, PieceReport, SectionReport, SkillReport

WIDTH = 520.0
_COLUMN, _ROW, _LEFT, _TOP = 44.0, 34.0, 70.0, 24.0
_FULL_MINUTES = 30.0
"""A day of so many minutes has the largest mark."""
_WEEKS_SHOWN = 26
_ROWS = (("Melody", Ink.MELODY), ("Bass", Ink.BASS), ("Played", Ink.PLAYED))


def map_chart(piece: PieceReport) -> Chart:
    """One column a section; circles for the melody, squares for the bass, diamonds for what is played."""
    shapes: list[Shape] = []
    for row, (name, _) in enumerate(_ROWS):
        shapes.append(Label(0, _TOP + row * _ROW + 21, name))
    for column, section in enumerate(piece.sections):
        x = _LEFT + column * _COLUMN + 14
        shapes.append(Label(x, 14, section.name, 13, "middle"))
        for row, (cell, ink) in enumerate(_cells(section)):
            shapes += _mark(x, _TOP + row * _ROW + 16, row, ink, cell)
    done = sum(cell is Cell.SETTLED for section in piece.sections for cell, _ in _cells(section))
    said = f"Map of {piece.title}: {done} of {3 * len(piece.sections)} cells are good enough."
    width = max(_LEFT + _COLUMN * len(piece.sections), 160.0)
    return Chart(width, _TOP + 3 * _ROW, tuple(shapes), said)


def _cells(section: SectionReport) -> tuple[tuple[Cell, Ink], ...]:
    cells = (section.melody, section.bass, section.played)
    return tuple((cell, ink) for cell, (_, ink) in zip(cells, _ROWS, strict=True))


def _mark(x: float, y: float, row: int, ink: Ink, cell: Cell) -> Iterator[Shape]:
    """A cell: a faint dot while empty, an outline once begun, filled and ticked when good enough."""
    if cell is Cell.EMPTY:
        yield Disc(x, y, 2, Ink.FAINT)
        return
    filled = cell is Cell.SETTLED
    if row == 0:
        yield Disc(x, y, 12, ink, filled)
    elif row == 1:
        yield Box(x - 11, y - 11, 22, 22, ink, filled)
    else:
        yield Path(((x, y - 13), (x + 13, y), (x, y + 13), (x - 13, y)), ink, closed=True, filled=filled)
    if filled:
        yield Path(((x - 5, y), (x - 1, y + 4), (x + 6, y - 5)), Ink.PAPER)


def days_chart(days: Sequence[DayReport], last: date) -> Chart:
    """A mark for each day with practice, its size by the minutes: a column a week, Monday on top."""
    monday = last - timedelta(days=last.weekday())
    first = monday - timedelta(days=7 * (_WEEKS_SHOWN - 1))
    step = (WIDTH - 40) / _WEEKS_SHOWN
    shapes: list[Shape] = [
        Label(0, 14 + 18 * row, name, 9) for row, name in ((0, "Mon"), (3, "Thu"), (6, "Sun"))
    ]
    shown = [day for day in days if first <= day.day <= last]
    for day in shown:
        week, weekday = divmod((day.day - first).days, 7)
        size = 2.5 + 5.5 * min(1.0, day.practice / _FULL_MINUTES) ** 0.5
        shapes.append(Disc(40 + step * (week + 0.5), 10 + 18 * weekday, size, Ink.PLAYED))
    for week in range(0, _WEEKS_SHOWN, 4):
        start = first + timedelta(days=7 * week)
        shapes.append(Label(40 + step * week, 148, f"{start:%d.%m.}", 9))
    minutes = sum(day.practice for day in shown)
    said = f"{len(shown)} days with practice in {_WEEKS_SHOWN} weeks, {minutes:.0f} minutes together."
    return Chart(WIDTH, 154, tuple(shapes), said)


def skills_chart(skills: Sequence[SkillReport]) -> Chart:
    """A bar for each skill, as long as it is sure."""
    shapes: list[Shape] = []
    for row, skill in enumerate(skills):
        y, strength = 16.0 * row, 0.35 + 0.65 * skill.sureness
        shapes += [
            Label(0, y + 12, _shortened(skill.skill, 40), 10),
            Box(230, y + 3, 240, 11, Ink.FAINT, filled=False),
            Box(
                230,
                y + 3,
                max(1.0, 240 * skill.sureness),
                11,
                Ink.MELODY,
                strength=strength,
            ),
            Label(WIDTH, y + 12, f"{skill.sureness:.0%}", 10, "end"),
        ]
    said = "; ".join(f"{skill.skill} {skill.sureness:.0%}" for skill in skills)
    return Chart(WIDTH, max(16.0, 16.0 * len(skills)), tuple(shapes), f"Ear skills: {said or 'none yet'}.")


def _shortened(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"


def pace_chart(piece: PieceReport, today: date, forecast: ForecastReport | None) -> Chart:
    """How much of the piece is good enough, day by day, beside the aim and the forecast."""
    left, right, top, bottom = 40.0, WIDTH - 10, 10.0, 110.0
    told = forecast if piece.state == "in hand" else None
    ends = [today, piece.finished_on, piece.aim, told.p90 if told is not None else None]
    last = max(day for day in ends if day is not None)
    length = max(1, (last - piece.chosen_on).days)

    def x(day: date) -> float:
        return left + (right - left) * (day - piece.chosen_on).days / length

    def y(share: float) -> float:
        return bottom - (bottom - top) * share

    steps: list[tuple[float, float]] = []
    for point in piece.pace:
        if steps:
            steps.append((x(point.day), steps[-1][1]))
        steps.append((x(point.day), y(point.share)))
    if steps:
        steps.append((x(min(piece.finished_on or today, last)), steps[-1][1]))
    shapes: list[Shape] = [
        Path(((left, top), (left, bottom), (right, bottom)), Ink.LINE),
        Label(left - 6, top + 6, "all", 9, "end"),
        Label(left - 6, bottom, "0", 9, "end"),
        Label(left, bottom + 14, f"{piece.chosen_on:%d.%m.%y}", 9),
        Label(right, bottom + 14, f"{last:%d.%m.%y}", 9, "end"),
        Path(tuple(steps), Ink.MELODY),
    ]
    if piece.aim is not None:
        shapes += [
            Path(((x(piece.aim), top), (x(piece.aim), bottom)), Ink.BASS, dashed=True),
            Label(x(piece.aim) - 3, top + 8, "aim", 9, "end"),
        ]
    if told is not None:
        shapes.append(Box(x(told.p10), top, max(1.0, x(told.p90) - x(told.p10)), 5, Ink.PLAYED, strength=0.4))
        shapes.append(Path(((x(told.p50), top), (x(told.p50), top + 9)), Ink.PLAYED))
    return Chart(WIDTH, bottom + 20, tuple(shapes), _pace_said(piece))


def _pace_said(piece: PieceReport) -> str:
    share = piece.pace[-1].share if piece.pace else 0.0
    aim = f", aim {piece.aim.isoformat()}" if piece.aim is not None else ""
    return f"Pace of {piece.title}: {share:.0%} good enough{aim}."
