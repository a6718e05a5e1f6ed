"""The adaptive staircase that moves the level within a skill."""

from dataclasses import dataclass, replace

RIGHTS_TO_RISE = 3
"""Three right answers in a row make it harder, one wrong answer easier: this converges on the level that is
answered right with probability 0.5^(1/3) = 79.4 % (Levitt 1971, “Transformed up-down methods in
psychoacoustics”, table I)."""


@dataclass(frozen=True, slots=True)
class Staircase:
    """Where a skill stands on its levels.

    Parameters
    ----------
    level
        From 1.
    in_a_row
        Right answers since the level last changed or an answer was wrong.
    missed
        Whether any answer was wrong so far. Until then each right answer makes it harder, which brings an
        able player up quickly (a coarser first approach is common practice; from memory).
    """

    level: int = 1
    in_a_row: int = 0
    missed: bool = False

    def after(self, *, right: bool, most: int) -> "Staircase":
        """The staircase after an answer at its level; ``most`` is the hardest level there is."""
        if not right:
            return Staircase(max(1, self.level - 1), 0, True)
        if not self.missed or self.in_a_row + 1 >= RIGHTS_TO_RISE:
            return replace(self, level=min(most, self.level + 1), in_a_row=0)
        return replace(self, in_a_row=self.in_a_row + 1)
