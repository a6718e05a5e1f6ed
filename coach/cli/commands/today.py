"""``coach today``: the plan of a day with minutes, and the forecast of the finish."""

import argparse
from contextlib import closing
from datetime import date

from coach.cli.output import Output, TextProgress
from coach.practice.plan import Plan, Step, plan_day
from coach.practice.proposals import Outlook, outlook
from coach.sessions.services import Services

YEARS = range(1970, 9000)
"""Days far beyond any log have no day after them that a calendar could hold."""


def day(text: str) -> date:
    """Read a day for argparse."""
    try:
        found = date.fromisoformat(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"“{text}” is not a day: write it like 2026-03-09") from error
    if found.year not in YEARS:
        raise argparse.ArgumentTypeError(f"“{text}” is beyond any log: choose a year from 1970 to 8999")
    return found


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("--on", type=day, metavar="DATE", help="the plan for this day (2026-03-09)")


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Tell the day's plan."""
    today = args.on or services.clock.today()
    settings = services.current_settings()
    with closing(services.read_log()) as log:
        progress = log.progress(TextProgress(out))
    plan = plan_day(progress, settings, today)
    view = outlook(progress, settings, today)
    out.value(_value(plan, view))
    _tell(plan, view, out)
    return 0


def _value(plan: Plan, view: Outlook) -> dict[str, object]:
    return {
        "date": plan.day.isoformat(),
        "minutes": plan.minutes,
        "steps": [_step_value(step) for step in plan.steps],
        "forecast": _forecast_value(view),
    }


def _step_value(step: Step) -> dict[str, object]:
    return {
        "kind": step.kind.value,
        "title": step.title,
        "minutes": step.minutes,
        "section": step.section,
        "stage": None if step.stage is None else step.stage.value,
    }


def _forecast_value(view: Outlook) -> dict[str, object]:
    told = view.forecast
    return {
        "aim": None if view.aim is None else view.aim.isoformat(),
        "p10": None if told is None else told.p10.isoformat(),
        "p50": None if told is None else told.p50.isoformat(),
        "p90": None if told is None else told.p90.isoformat(),
        "on_track": view.on_track,
        "advice": view.advice,
    }


def _tell(plan: Plan, view: Outlook, out: Output) -> None:
    out.text(f"{plan.day:%A}, {plan.day.isoformat()}: {plan.minutes} minutes")
    out.text(plan.standing)
    for step in plan.steps:
        done = "  (done)" if step.done else ""
        out.text(f"  {step.minutes:>2} min  {step.title}{done}")
    told = view.forecast
    if told is not None:
        basis = "" if told.own_stages else " (what beginners usually need: your own pace is not known yet)"
        out.text(f"Done about {told.p50}, between {told.p10} and {told.p90}{basis}.")
    if view.aim is not None:
        out.text(f"Aim: {view.aim}.")
    if view.advice is not None:
        out.text(view.advice)
    for offer in view.proposals:
        out.text(f"  {offer.title}: done about {offer.day}")
