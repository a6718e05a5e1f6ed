"""What a prompt must know about the player and the piece."""

from dataclasses import dataclass
from random import Random

from coach.drills.data import Register
from coach.drills.kinds import By
from coach.music.naming import Naming
from coach.music.tuning_system import STANDARD_STRINGS

UNKNOWN_VOICE = (50, 64)
"""D3 to E4: what nearly all adult voices reach in one octave or another. Common practice, from memory."""
LEAST_VOICE = 12
"""A narrower range (semitones) is widened about its middle, so that every note can be sung somewhere."""
FRETS_IN_USE = 7


@dataclass(frozen=True, slots=True)
class DrillContext:
    """The player and the piece.

    Parameters
    ----------
    voice
        Comfortable lowest and highest sung note (MIDI).
    tuning
        MIDI notes of the open strings, 6 to 1.
    theory_words
        Whether intervals are called by their names; else in frets.
    naming
        How notes are named on screen.
    melody
        The tune of the next section of the piece in hand (MIDI), in order; may be empty.
    """

    voice: tuple[int, int] = UNKNOWN_VOICE
    tuning: tuple[int, ...] = STANDARD_STRINGS
    theory_words: bool = False
    naming: Naming = Naming.ENGLISH
    melody: tuple[int, ...] = ()

    def compass(self, by: By, register: Register = Register.ANY) -> tuple[int, int]:
        """Lowest and highest note that may be asked of voice or guitar, in all or a third of the range."""
        low, high = self.voice if by is By.VOICE else (min(self.tuning), max(self.tuning) + FRETS_IN_USE)
        if high - low < LEAST_VOICE:
            middle = (low + high) // 2
            low, high = middle - LEAST_VOICE // 2, middle + LEAST_VOICE // 2
        third = (high - low) // 3
        match register:
            case Register.ANY:
                return low, high
            case Register.LOW:
                return low, low + third
            case Register.MID:
                return low + third, high - third
            case Register.HIGH:
                return high - third, high


def pick_start(
    offsets: tuple[int, ...],
    compass: tuple[int, int],
    inside: tuple[int, int],
    reach: int,
    rng: Random,
) -> int:
    """Choose a note to which ``offsets`` (semitones) are added, so that all notes are in range.

    Parameters
    ----------
    offsets
        Of all notes to sound or to be answered, from the one that is chosen.
    compass
        The whole range; kept wherever the offsets are not wider than it, else they are centred on it.
    inside
        The part of it where the middle of the notes should lie.
    reach
        How far from the middle of that part it may lie.
    rng
        Chooses.
    """
    low, high = compass
    least, most = min(offsets), max(offsets)
    if most - least > high - low:
        return (low + high - least - most) // 2
    middle = (inside[0] + inside[1]) // 2
    wanted = [
        start
        for start in range(low - least, high - most + 1)
        if abs(start + (least + most) // 2 - middle) <= max(reach, 1)
        and inside[0] <= start + (least + most) // 2 <= inside[1]
    ]
    return rng.choice(wanted) if wanted else min(max(middle, low - least), high - most)
