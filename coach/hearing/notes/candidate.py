"""A note in the making: an onset, and what the frames after it say."""

from dataclasses import dataclass, field

import numpy as np

from coach.hearing.frames import PitchFrame
from coach.hearing.notes.fresh import LONGEST_S, Fresh, string_concentration
from coach.hearing.notes.manner import Manner
from coach.hearing.onsets import Onset

SKIP_S = 0.012
"""Frames nearer to an onset than this still hear what was before it."""
PATIENCE_S = 0.25
"""An onset after which no pitch is found for this long was no note."""
_MOVED = 0.6
"""Semitones from the pitch before the onset at which a frame hears something else."""
_CERTAIN_SUPPORT, _CERTAIN_CONFIDENCE = 0.75, 0.6
"""From here on a single frame of the tracker is believed: what is new in the sound agrees, and it is sure."""
_UNCOVERED = 0.6
"""With less support than this in what is new the tracker's pitch may be one that rang all the while."""
_ON_NOTE = 0.35
"""An attack may bend the first frame by a third of a semitone: near the quarter tone a second is asked."""
_KNOCK_DB = 10.0
"""What dies this fast within 0.1 s is a knock or a bump: 99.5 % of plucked notes fall by less than 8 dB."""
_JUDGED_MIDI = (40.0, 46.0, 52.0, 57.0, 62.0, 67.0)
_LEAST_CONCENTRATION = (0.50, 0.56, 0.62, 0.70, 0.85, 0.85)
"""How much of what is new must lie on the partials of a pitch for it to be a string, by pitch. Measured at
the decision of 315 plucked notes and double stops, dull and noisy ones among them: at least 0.56, 0.64,
0.72, 0.92 and 1.02 from E2, A#2, E3, A3 and D4 on; bumps and rubbing mostly stay under these limits."""
_HIGHEST_THUMP_MIDI = 70.0
"""Knocks and rubbing have no pitch so high (A#4): from there on nothing is judged."""
FAST_DB_PER_S, _SOLID = 95.0, 1.25
"""No string under A#4 dies faster than 76 dB a second so early; a fast one must be a clear one."""
_CLEAR_ONSET = 0.15
"""A weaker onset may be a string that is let go just before the next note: what is new must stay longer."""
_SOME_CONFIDENCE = 0.15
"""Below this the tracker hears no pitch at all, neither the old nor the new one."""
_LEAST_SHARE = 0.08
"""With less new than this share of the sound, a pitch found in it means nothing."""
_LOW_SHARE, _LITTLE_SHARE = 0.15, 0.35
"""A lower pitch than the old one must be the more substantial: the noise of a pluck looks like one."""
_HARMONICS = (19.0, 28.0, 31.0, 34.0, 36.0)
"""Third, fifth, sixth, seventh and eighth partial in semitones; the octaves are treated apart."""
_RATHER = 1.35
"""So much more of what is new lies on the partials of a new note than on those of the old one. Measured on
notes struck softly under one that rings on: 1.4 or more; where the old one was struck again, 1.3 at most."""
_SOME_ODD = 0.2
"""An octave over a ringing string is another one only if hardly any odd partial of that one grew."""
TELLING_SHARE = 0.03
"""With less new than this the pitch that explains it best may be any: a string that is struck again more
softly leaves 0.002 to 0.03, one an octave above it 0.04 or more."""
_GROWING_DB = -6.0
"""A string is loudest when it is struck: sound that grows after the onset belongs to a later one."""
_BELOW = (12.0, 19.0)
_BELOW_SUPPORT, _BELOW_ODD = 0.85, 0.6
"""Strings at an octave or a twelfth over a ringing one share all partials with it: their first one hardly
stands out, and the second or third is taken for it. The lower pitch is meant where it explains what is new
nearly as well and its odd partials have grown. Measured on recorded strings: 0.86 and 0.62 or more where it
was played, at most 0.68 (or 0.59 and 0.75) where the upper one was."""
_ENOUGH_S = 0.062
"""Sound after the onset from which the new part of it alone may name the note."""


@dataclass(frozen=True, slots=True)
class Claim:
    """A pitch found after an onset, as a MIDI number, how sure, and whether it is the old one again."""

    pitch: float
    confidence: float
    again: bool


@dataclass(slots=True)
class Candidate:
    """What follows an onset until a note is decided or given up.

    Parameters
    ----------
    onset
        Where it may begin.
    old
        The pitch that sounded just before, ``None`` after silence.
    """

    onset: Onset
    old: float | None
    frames: list[PitchFrame] = field(default_factory=list)
    guesses: list[float] = field(default_factory=list)
    weighed: bool = False
    """Whether it is settled if what rang before was struck again softly."""

    def claim(self, frame: PitchFrame, fresh: Fresh, manner: Manner) -> Claim | None:
        """Weigh the next frame together with what is new in the sound; ``None`` while unsure."""
        if frame.pitch is not None:
            self.frames.append(frame)
        if fresh.fading_db > _KNOCK_DB:
            return None
        if frame.pitch is not None and (self.old is None or abs(frame.pitch - self.old) > _MOVED):
            found = self._moved(frame, frame.pitch, fresh, manner)
        else:
            found = self._masked(frame, fresh)
        self.guesses.append(fresh.best)
        if found is not None and not found.again and thumps(fresh, found.pitch):
            return None
        return found

    def _moved(self, frame: PitchFrame, pitch: float, fresh: Fresh, manner: Manner) -> Claim | None:
        """The tracker hears another pitch than before the onset."""
        certain = fresh.support(pitch) >= _CERTAIN_SUPPORT and frame.confidence >= _CERTAIN_CONFIDENCE
        sure = certain and abs(pitch - round(pitch)) <= _ON_NOTE
        if not sure and not self._agree(manner):
            return None
        # Where the loudest string is let go the tracker comes back to one that rings below the new note.
        best = fresh.best
        steady = bool(self.guesses) and abs(self.guesses[-1] - best) <= _MOVED
        if steady and fresh.support(pitch) < _UNCOVERED and rather(best, pitch, fresh):
            return Claim(best, frame.confidence, again=False)
        return Claim(pitch, frame.confidence, again=False)

    def _masked(self, frame: PitchFrame, fresh: Fresh) -> Claim | None:
        """The tracker still hears what rang before, or nothing: ask what is new."""
        if self.old is None or fresh.length_s < _ENOUGH_S:
            return None
        best = fresh.best
        needed = 1 if self.onset.strength >= _CLEAR_ONSET else 3
        last = self.guesses[-needed:]
        steady = len(last) == needed and all(abs(guess - best) <= _MOVED for guess in last)
        best = self._first_partial(best, self.old, fresh)
        if steady and rather(best, self.old, fresh):
            return Claim(best, max(frame.confidence, 0.5), again=False)
        if self._again(best, fresh):
            certain = frame.pitch is not None and (steady or fresh.length_s >= LONGEST_S)
            return Claim(self.old, frame.confidence, again=True) if certain else None
        sounding = frame.confidence >= _SOME_CONFIDENCE
        least = _LOW_SHARE if best < self.old - 3.0 else _LEAST_SHARE
        if steady and sounding and fresh.share >= least:
            return Claim(best, max(frame.confidence, 0.5), again=False)
        return None

    @staticmethod
    def _first_partial(best: float, old: float, fresh: Fresh) -> float:
        """The pitch of which the best guess may be only the second or third partial."""
        for below in (best - interval for interval in _BELOW):
            told = abs(below - old) > _MOVED and fresh.support(below) >= _BELOW_SUPPORT
            if told and fresh.renewal(below).odd_share >= _BELOW_ODD:
                return below
        return best

    def _again(self, best: float, fresh: Fresh) -> bool:
        """Whether what is new is the old pitch struck again; its upper partials may stand out most."""
        if self.old is None:
            return False
        if abs(best - self.old) <= _MOVED:
            return True
        support, renewal = fresh.support(self.old), fresh.renewal(self.old)
        if any(abs(best - self.old - octaves) <= _MOVED for octaves in (12.0, 24.0)):
            return support >= 0.85 or (support >= 0.7 and renewal.odd_share >= 0.72)
        if any(abs(best - self.old - harmonic) <= _MOVED for harmonic in _HARMONICS):
            return support >= 0.7 and renewal.concentration >= 0.85
        if fresh.share < _LEAST_SHARE or (best < self.old - 3.0 and fresh.share < _LITTLE_SHARE):
            return renewal.share >= 0.45
        return support >= 0.5 and renewal.share >= 0.6 and renewal.concentration >= 1.0

    def _agree(self, manner: Manner) -> bool:
        last = [frame.pitch for frame in self.frames[-manner.steady_frames :] if frame.pitch is not None]
        return len(last) == manner.steady_frames and 100 * (max(last) - min(last)) <= manner.agree_cents


def rather(best: float, old: float, fresh: Fresh) -> bool:
    """Whether what is new, however soft, is clearly another string and not the old one again."""
    if any(abs(best - old - harmonic) <= _MOVED for harmonic in (0.0, *_HARMONICS)):
        return False
    concentration, renewal = fresh.renewal(best).concentration, fresh.renewal(old)
    octave = any(abs(best - old - octaves) <= _MOVED for octaves in (12.0, 24.0))
    if octave and (renewal.odd_share > _SOME_ODD or fresh.share < TELLING_SHARE):
        return False
    if fresh.fading_db < _GROWING_DB or concentration < string_concentration(best):
        return False
    return concentration >= _RATHER * renewal.concentration


def thumps(fresh: Fresh, pitch: float) -> bool:
    """Whether what is new is a bump, a rub or a knock, which only looks like a low string.

    The modes of a table or a guitar's body are few and lie where they like; those of a string are harmonic.
    """
    if pitch >= _HIGHEST_THUMP_MIDI:
        return False
    concentration = fresh.renewal(pitch).concentration
    least = float(np.interp(pitch, _JUDGED_MIDI, _LEAST_CONCENTRATION))
    if fresh.fading_db_per_s > FAST_DB_PER_S:
        least *= _SOLID
    return concentration < least
