"""Which bass notes a key makes likely: theory alone, nothing of the recording.

Under simple tunes the bass rests mostly on the first, fourth and fifth note of the key, and steps to those
beside them. Common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from coach.music import Key, Pitch

MAIN_DEGREES = (1, 4, 5)
NEIGHBOUR_DEGREES = (6, 2, 3, 7)
"""Each lies a step beside a main one, the likelier first. Common practice, no source."""
DEGREE_WORDS = {
    1: "home note", 2: "second note", 3: "third note", 4: "fourth note", 5: "fifth note", 6: "sixth note",
    7: "seventh note",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class LikelyBass:
    """A note that the key makes likely, as low as the guitar has it."""

    degree: int
    pitch: Pitch

    @property
    def main(self) -> bool:
        """Whether it is one of the three main ones."""
        return self.degree in MAIN_DEGREES

    @property
    def words(self) -> str:
        """What it is in the key."""
        return DEGREE_WORDS[self.degree]


def likely_basses(key: Key, tuning: Sequence[int], capo: int = 0) -> tuple[LikelyBass, ...]:
    """I, IV and V of a key, then their neighbours, each at its lowest place on the guitar.

    Parameters
    ----------
    tuning
        MIDI notes of the open strings.
    """
    lowest = min(tuning) + capo
    classes = key.scale_classes
    return tuple(
        LikelyBass(degree, key.spell(lowest + (classes[degree - 1] - lowest) % 12))
        for degree in (*MAIN_DEGREES, *NEIGHBOUR_DEGREES)
    )
