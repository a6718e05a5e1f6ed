"""``coach demo``: the whole job on the bundled piece, by the real paths, with a simulated learner."""

import argparse
from pathlib import Path

from coach.cli.output import Output
from coach.sessions.demo.job import Demonstration
from coach.sessions.services import Services

DEFAULT_OUT = "coach-demo"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("--out", default=DEFAULT_OUT, metavar="DIR", help="folder for sheet, log and report")
    parser.add_argument("--seed", type=int, default=1, help="of the simulated learner's errors")


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Do the whole job and tell every step with its figure."""
    folder = Path(args.out)
    data = fresh_folder(folder)
    demonstration = Demonstration(services.elsewhere(data), folder, args.seed)
    began_s = services.clock.steady_s()
    steps: list[dict[str, object]] = []
    try:
        for step in demonstration.steps():
            out.text(f"{step.name}: {step.words}")
            steps.append({"step": step.name, **step.values})
    finally:
        demonstration.close()
    took_s = services.clock.steady_s() - began_s
    out.text(f"Done in {took_s:.0f} s. The sheet and the report are in {folder}, the log is in {data}.")
    out.value({"out": str(folder), "data": str(data), "seconds": round(took_s, 1), "steps": steps})
    return 0


def fresh_folder(folder: Path) -> Path:
    """The first data folder below ``folder`` that does not exist: nothing older is touched."""
    number = 1
    while (folder / f"data-{number}").exists():
        number += 1
    return folder / f"data-{number}"
