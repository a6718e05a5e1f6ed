"""The five states of every screen."""

from dataclasses import dataclass
from typing import Generic, TypeVar

T_co = TypeVar("T_co", covariant=True)


@dataclass(frozen=True, slots=True)
class Empty:
    """Nothing is there yet, which is normal; ``action`` names the way on, if this screen offers one."""

    sentence: str
    action: str | None = None


@dataclass(frozen=True, slots=True)
class Working:
    """Something takes a while: what, how far (0 to 1, ``None`` where nobody knows), whether it can stop."""

    what: str
    share: float | None = None
    can_cancel: bool = True


@dataclass(frozen=True, slots=True)
class Ready(Generic[T_co]):
    """The screen proper."""

    value: T_co


@dataclass(frozen=True, slots=True)
class Missing:
    """Something that the screen needs is not there: what, what to do, and what goes on working without it."""

    what: str
    do: str
    action: str | None = None


@dataclass(frozen=True, slots=True)
class Failed:
    """Something went wrong: what happened, what to do. Nothing of the player's is lost."""

    what: str
    do: str
    action: str | None = "Try again"


PageView = Empty | Working | Ready[T_co] | Missing | Failed
"""What a screen may show."""
