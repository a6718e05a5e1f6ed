"""Reads the words of the command line and runs one command."""

import argparse
import importlib
import os
import sys
from collections.abc import Callable, Sequence
from typing import Protocol, cast

from coach.cli.output import Output, UsageError
from coach.cli.table import COMMANDS, Command
from coach.errors import CoachError
from coach.sessions.services import Services

OK, FAILED, WRONG_WORDS, INTERRUPTED = 0, 1, 2, 130
"""Exit codes; 130 is 128 + SIGINT, common practice of shells."""


DATA_HELP = "keep log and pieces in this folder (or set COACH_DATA)"


class CommandModule(Protocol):
    """What a module under ``coach.cli.commands`` offers."""

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Declare the command's words."""
        ...

    def run(self, args: argparse.Namespace, services: Services, out: Output) -> int:
        """Do the work; the return value is the exit code."""
        ...


def load(command: Command) -> CommandModule:
    """Import a command's module."""
    return cast("CommandModule", importlib.import_module(command.module))


def overview() -> str:
    """The list of commands, grouped, for ``coach --help``."""
    lines = ["commands:"]
    for group in dict.fromkeys(command.group for command in COMMANDS):
        lines.append(f"  {group}")
        lines += [f"    {c.word:<12} {c.summary}" for c in COMMANDS if c.group == group]
    return "\n".join(lines)


def parser_of_all() -> argparse.ArgumentParser:
    """The parser of the first word; the command's own words are parsed by `parser_of`."""
    parser = argparse.ArgumentParser(
        prog="coach",
        description="From a simple recorded piece to a finished first arrangement for one guitar, by ear. "
        "Without a command the app opens.",
        epilog=overview(),
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--data", metavar="DIR", help=DATA_HELP)
    parser.add_argument("command", nargs="?", help="one of the commands below")
    parser.add_argument("rest", nargs=argparse.REMAINDER, help=argparse.SUPPRESS)
    return parser


def parser_of(command: Command, module: CommandModule) -> argparse.ArgumentParser:
    """The parser of one command's words."""
    parser = argparse.ArgumentParser(
        prog=f"coach {command.word}", description=command.summary, allow_abbrev=False
    )
    parser.add_argument("--json", action="store_true", help="print one JSON value a line")
    parser.add_argument("--data", metavar="DIR", help=DATA_HELP)
    module.add_arguments(parser)
    return parser


def find(word: str) -> Command:
    """The command of a word; `UsageError` if there is none."""
    for command in COMMANDS:
        if command.word == word:
            return command
    raise UsageError(f"“{word}” is not a command of coach: “coach --help” lists them.")


def run(words: Sequence[str], services_for: Callable[[str | None], Services]) -> int:
    """Run the command that the words name; no traceback for anything a user can cause.

    Parameters
    ----------
    words
        The command line without the program's name; the first is the command (see `parser_of_all`).
    services_for
        Makes the services for a data folder (``None``: the usual one).

    Returns
    -------
    int
        0 done, 1 failed, 2 wrong words, 130 interrupted.
    """
    json_mode = "--json" in words
    out = Output(json_mode)
    try:
        return _run(words, services_for, out)
    except UsageError as error:
        out.progress(f"coach: {error}")
        return WRONG_WORDS
    except CoachError as error:
        out.failure(None, error)
        return FAILED
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # The reader has gone: stop quietly, and keep Python from complaining at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return OK


def _run(words: Sequence[str], services_for: Callable[[str | None], Services], out: Output) -> int:
    first = parser_of_all().parse_args(words)
    command = find(first.command)
    module = load(command)
    args = parser_of(command, module).parse_args(first.rest)
    return module.run(args, services_for(args.data or first.data), out)
