"""``coach report``: what was practised as one HTML, PDF, JSON or CSV file, whole or from a day on."""

import argparse
from contextlib import closing
from datetime import date
from pathlib import Path

from coach.cli.commands.today import day
from coach.cli.output import Output, TextProgress, UsageError
from coach.errors import LockedError
from coach.practice.sentences import titles_of
from coach.reports.csv_file import log_csv
from coach.reports.html_file import report_html
from coach.reports.json_file import report_json
from coach.sessions.exchange import report_of, shared
from coach.sessions.journal import Journal
from coach.sessions.ports import PracticeLog
from coach.sessions.services import Services

LESSON = "lesson"
ENDINGS = (".html", ".pdf", ".json", ".csv")


def _since(text: str) -> date | str:
    return text if text == LESSON else day(text)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("--out", required=True, metavar="FILE", help="a .html, .pdf, .json or .csv file")
    parser.add_argument(
        "--since",
        type=_since,
        metavar="DATE",
        help="from this day on, or “lesson”: from the last report that was shared",
    )
    parser.add_argument("--name", default="", help="who the report is about, as the teacher knows you")
    parser.add_argument(
        "--share", action="store_true", help="note in the log that this one goes to the teacher"
    )


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Write the report."""
    path = Path(args.out)
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        raise UsageError(f"--out {args.out}: the file must end in .html, .pdf, .json or .csv")
    with closing(services.read_log()) as log:
        log.progress(TextProgress(out))
        since = _first_day(args.since, log)
        data = _made(services, log, ending, since, args.name)
    services.files().write(path, data)
    noted = bool(args.share) and _noted(services, since, out)
    out.value(
        {
            "out": str(path),
            "format": ending.removeprefix("."),
            "since": None if since is None else since.isoformat(),
            "bytes": len(data),
            "shared": noted,
        }
    )
    out.text(f"{path}: {len(data) / 1000:.0f} kB")
    return 0


def _noted(services: Services, since: date | None, out: Output) -> bool:
    """Note in the log that the report goes to the teacher, unless the app holds the log just now."""
    try:
        with closing(Journal(services.log(), services.clock)) as journal:
            shared(journal, since)
    except LockedError as error:
        out.progress(f"The report is written, but not noted as shared: {error.message}")
        return False
    return True


def _first_day(asked: date | str | None, log: PracticeLog) -> date | None:
    if isinstance(asked, date):
        return asked
    last = log.progress().reported_at if asked == LESSON else None
    return None if last is None else last.date()


def _made(services: Services, log: PracticeLog, ending: str, since: date | None, name: str) -> bytes:
    if ending == ".csv":
        events = (each for each in log.events() if since is None or each.at.date() >= since)
        return log_csv(events, titles_of(log.progress().pieces))
    report = report_of(services, log, since=since, name=name)
    if ending == ".json":
        return report_json(report)
    if ending == ".html":
        return report_html(report)
    # The PDF library takes a while to import: only who wants a PDF waits for it.
    from coach.reports.pdf_file import report_pdf  # noqa: PLC0415

    fonts = services.fonts()
    return report_pdf(report, fonts.regular, fonts.bold)
