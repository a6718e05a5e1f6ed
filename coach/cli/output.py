"""How commands speak: JSON values or text on standard output, everything else on standard error."""

import json
import math
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TextIO

from coach.errors import CancelledError, CoachError


class UsageError(Exception):
    """Wrong words on the command line: exit code 2 and nothing on standard output."""


@dataclass(frozen=True, slots=True)
class Output:
    """Where a command writes.

    Parameters
    ----------
    json_mode
        Whether ``--json`` was given: values are printed, text is not.
    """

    json_mode: bool
    to: TextIO = field(default_factory=lambda: sys.stdout)
    messages: TextIO = field(default_factory=lambda: sys.stderr)

    def value(self, value: object) -> None:
        """Print one compact JSON value on its own line; nothing in text mode.

        ``ValueError`` on NaN or infinity: they must not leave the program.
        """
        if self.json_mode:
            line = json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
            self.to.write(line + "\n")
            self.to.flush()

    def text(self, line: str = "") -> None:
        """Print a line for people; nothing in JSON mode."""
        if not self.json_mode:
            self.to.write(line + "\n")
            self.to.flush()

    def progress(self, message: str) -> None:
        """Tell something on standard error."""
        self.messages.write(message + "\n")
        self.messages.flush()

    def failure(self, name: str | None, error: CoachError) -> None:
        """Tell an error: as a JSON value in JSON mode, and always as a sentence on standard error."""
        self.value({"input": name, "error": {"code": error.code, "message": error.message}})
        self.progress(f"{name}: {error.message}" if name else error.message)


def each_input(paths: Sequence[str], out: Output, work: Callable[[Path], None]) -> int:
    """Do the work for every input, telling the failed ones; 1 if any failed, else 0."""
    failed = False
    for name in paths:
        try:
            work(Path(name))
        except CancelledError:
            raise
        except CoachError as error:
            out.failure(name, error)
            failed = True
    return int(failed)


@dataclass(slots=True)
class TextProgress:
    """The `Jobs` port on standard error: a line whenever another tenth is done, or another thing is begun."""

    out: Output
    _told: tuple[str, int] | None = field(default=None, init=False)

    def progress(self, share: float, what: str) -> None:
        """Tell how far a job is."""
        tenth = (what, math.floor(10 * share + 1e-9))
        if tenth != self._told:
            self._told = tenth
            self.out.progress(f"{what}: {share:.0%}")
