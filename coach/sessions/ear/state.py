"""Where a drill is: a closed union of frozen states."""

from dataclasses import dataclass

from coach.drills.grade import Grade
from coach.drills.prompt import Prompt


@dataclass(frozen=True, slots=True)
class Waiting:
    """Nothing is asked yet."""


@dataclass(frozen=True, slots=True)
class Prompting:
    """The prompt sounds; the ear is closed, or waits."""

    prompt: Prompt


@dataclass(frozen=True, slots=True)
class Listening:
    """The answer is awaited; ``since_s`` is the ear time at which listening began."""

    prompt: Prompt
    since_s: float


@dataclass(frozen=True, slots=True)
class Graded:
    """The answer is graded and in the log."""

    prompt: Prompt
    grade: Grade


@dataclass(frozen=True, slots=True)
class Passed:
    """The player let this one pass, which is no fault."""

    prompt: Prompt


@dataclass(frozen=True, slots=True)
class Paused:
    """Stopped for now; going on asks the prompt again.

    By the player; because the device went away (when it is back, it goes on by itself); or because nothing at
    all was heard, for who is called away has answered nothing wrong (then any sound goes on).
    """

    prompt: Prompt
    lost_device: bool = False
    silent: bool = False


DrillState = Waiting | Prompting | Listening | Graded | Passed | Paused
