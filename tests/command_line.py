"""Run one command in this process and read what it printed."""

from io import StringIO
from pathlib import Path

from coach.bootstrap import make_services
from coach.cli.main import find, load, parser_of
from coach.cli.output import Output, UsageError
from coach.errors import CoachError


def coach(data: Path, word: str, *words: str) -> tuple[int, str]:
    """The exit code and what stands on standard output."""
    command = find(word)
    module = load(command)
    out, messages = StringIO(), StringIO()
    try:
        args = parser_of(command, module).parse_args(words)
        code = module.run(args, make_services(data), Output(args.json, out, messages))
    except UsageError:
        return 2, out.getvalue()
    except SystemExit as stop:
        return int(stop.code or 0), out.getvalue()
    except CoachError:
        return 1, out.getvalue()
    return code, out.getvalue()
