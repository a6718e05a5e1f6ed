"""Whether a young note is kept or withdrawn: two later looks at it, or one as it ends.

A note is claimed from 60 ms of sound, in which a knocked guitar body or a creaking chair may pass for a
string. After 0.165 s, after 0.27 s, and where it ends before that, its `Character` is weighed by logistic
regression; what is weighed too light is withdrawn. Where the player has just been heard for certain, a note
is doubted less: it may be masked by those that ring, and its signs are mixed with theirs.

The weights are fitted on claims of this ear (scikit-learn's logistic regression, signs standardised, C = 1):
those of sound effects without notes (doors, steps, cloth, metal, knocks, water) and of handling made by
filters and decaying modes, against plucked notes of two sampled guitars, staccato, fast, ringing on, noisy,
dull, clipped and in rooms, and against sung phrases made by formants and by resynthesis. The limits keep all
but one in three hundred of either; those lost are muted at once, or masked by noise and by what rings.
"""

from dataclasses import dataclass

import numpy as np

from coach.hearing.frames import PitchFrame
from coach.hearing.notes.character import LONGEST_S, Character, character
from coach.hearing.notes.memory import SoundMemory
from coach.hearing.tracker import Source
from coach.music.tuning_system import midi_to_hz

LOOKS_S = (0.165, LONGEST_S)
"""Sound after a note's start that each look rests on: the first is over before a plucked note is judged."""
_LATE_S = 0.22
"""A note that is looked at before this is weighed as at the first look, later as at the second."""
_TRUST_S = 3.0
"""For so long after a certain note the player is thought to play."""
_BRIEF_S = 0.06
"""What is heard for less than this (it is a tenth of a second long at most) must be certain, unless it comes
while the player plays."""
_BUMP_FALL_DB, _BUMP_OFF_CENTS = 8.0, 8.0
"""A sung note that dies away has its partials in place: two of 900 were so far off, and half the bumps."""
_LOWEST_MIDI = 39.5
"""Below the sixth string, where few guitars go and most tables ring, the same holds of strings."""
_OWN_SHARE = 0.6
"""While the player plays, what makes up less than this of the sound is masked by what rings on, and kept: ten
of 1600 notes of guitars unheard before were lost by their mixed signs, all under it."""


@dataclass(frozen=True, slots=True)
class _Scale:
    """How one look weighs.

    Parameters
    ----------
    weights
        Of `Character.signs`, in their order, and the constant.
    least, least_playing
        The weight (logarithm of the odds) under which a note is withdrawn, and that while the player plays.
    certain
        The weight from which a note proves that the player plays.
    """

    weights: tuple[float, ...]
    least: float
    least_playing: float
    certain: float

    def weigh(self, found: Character) -> float:
        return float(found.signs() @ np.array(self.weights[:-1])) + self.weights[-1]


_SCALES: dict[Source, tuple[_Scale, _Scale]] = {
    "guitar": (
        _Scale((-2.35, 0.02, -0.38, -5.26, 13.96, 15.04, 0.13, 0.02, -1.51, 0.00, -5.16), -1.75, -6.0, 5.0),
        _Scale(
            (-2.62, 0.13, -0.31, -4.74, 22.98, 17.77, -0.66, -0.00, -4.45, -0.82, -6.78), -2.25, -5.0, 2.5
        ),
    ),
    "voice": (
        _Scale((-2.47, -0.21, 0.93, 4.90, 7.93, 9.33, -0.29, -0.03, 0.33, 0.16, -9.77), -1.5, -6.5, 5.0),
        _Scale((-2.33, -0.11, 0.64, -5.02, 16.73, 9.37, -0.88, -0.05, -1.10, 1.20, -4.17), -1.5, -5.0, 2.5),
    ),
    "any": (
        _Scale((-2.60, -0.06, -0.17, -4.22, 13.70, 12.87, -0.08, 0.01, -1.01, -0.33, -4.03), -1.5, -5.0, 5.0),
        _Scale((-2.21, 0.02, -0.23, -3.25, 15.64, 11.53, -0.48, 0.03, -2.44, -0.03, -2.32), -1.5, -5.0, 2.5),
    ),
}


class Doubt:
    """Judges the young notes of one stream.

    Parameters
    ----------
    source
        Who is heard.
    a4_hz
        The tuning that note numbers refer to.
    """

    def __init__(self, source: Source, a4_hz: float) -> None:
        self._scales = _SCALES[source]
        self._voice = source == "voice"
        self._a4_hz = a4_hz
        self._played_s = float("-inf")

    @staticmethod
    def due(looks: int, age_s: float) -> bool:
        """Whether it is time for the next look at a note that was looked at so many times."""
        return looks < len(LOOKS_S) and age_s >= LOOKS_S[looks]

    def stands(
        self,
        memory: SoundMemory,
        frames: list[PitchFrame],
        start_s: float,
        pitch: float,
        until_s: float,
        *,
        last: bool,
    ) -> bool:
        """Whether a note is one after all.

        Parameters
        ----------
        memory, frames
            The sound, and the tracker's last frames.
        start_s, pitch
            When the note began, and its pitch as a MIDI number.
        until_s
            Up to where its sound goes or has come.
        last
            Whether there will be no further look.
        """
        if self._voice and not last:
            return True
        playing = start_s - self._played_s <= _TRUST_S
        found = character(memory, frames, start_s, pitch, midi_to_hz(pitch, self._a4_hz), until_s)
        if found is None or (playing and found.share < _OWN_SHARE):
            return playing
        scale = self._scales[until_s - start_s >= _LATE_S]
        weight = scale.weigh(found)
        if last and not playing and found.heard_s < _BRIEF_S and weight < scale.certain:
            return False
        low = self._voice or (pitch < _LOWEST_MIDI and not playing)
        if low and found.fall_db >= _BUMP_FALL_DB and found.off_cents >= _BUMP_OFF_CENTS:
            return False
        stands = weight >= (scale.least_playing if playing or not last else scale.least)
        if stands and last and weight >= scale.certain:
            self._played_s = start_s
        return stands
