"""A second look at a young note: bumps, squeaks and creaks are withdrawn before anybody is judged by them.

A note is claimed from 60 ms of sound, in which a knocked guitar body or a creaking chair may pass for a
string. A tenth of a second later they differ: a string still sounds, steadily, and on its harmonics. All
limits are measured on 576 rendered guitar notes (clean, noisy, clipped, dull, in a room), of which it loses
one or two, and on handling noises made by filters and decaying modes, of which it withdraws nine in ten.
"""

from dataclasses import dataclass

from coach.hearing.candidate import Heard
from coach.hearing.fresh import string_concentration
from coach.hearing.memory import SoundMemory

LOOK_S = 0.165
"""Sound after a note's start that the second look rests on: it is over before a note is judged."""
_LEVELS_S = (0.04, 0.07, 0.10, 0.14)
_FROM_S, _TO_S = 0.03, 0.14
_OWN = 0.6
"""Semitones from the note within which a frame hears it."""
_DEAD_DB = 7.0
"""A string falls by less from its loudest to 0.14 s after its start (6.7 dB was the most)."""
_BEATING_DB = 12.0
"""Two strings that beat may both seem to fall by more (8 dB was seen, and 20 from a bump)."""
_VOICE_DEAD_DB = 10.0
"""A sung syllable may fall by more than a string."""
_ROSE_DB = 6.0
"""What begins in silence rises out of the room by more; a fan's tone behind a keystroke does not."""
_ELSEWHERE_CENTS = 50.0
_LEAST_STEADY, _MOST_CENTS = 0.75, 25.0
_HIGH_MIDI = 70.0
_SOLID, _PURE = 1.2, 1.3
_LITTLE_SHARE = 0.1
_BESIDE = 2.5


@dataclass(frozen=True, slots=True)
class SecondLook:
    """What is measured of a note 0.165 s after its start.

    Parameters
    ----------
    pitch
        MIDI number, with fractions.
    fall_db
        From the loudest moment to the end, of its partials.
    grown_db
        Its partials just after the start against those before.
    own
        Share of the frames that hear it.
    spread_cents
        Between the highest and the lowest of those; infinite where there are none.
    concentration, share
        Of what is new, see `Fresh`.
    alone
        Whether no note was under way when it began.
    beside
        Whether it began while a string within a whole tone rang: the two beat, and neither is steady.
    elsewhere
        Whether the frames that hear something else agree: then the claim will be corrected, not withdrawn.
    """

    pitch: float
    fall_db: float
    grown_db: float
    own: float
    spread_cents: float
    concentration: float
    share: float
    alone: bool
    beside: bool
    elsewhere: bool

    @property
    def unsteady(self) -> bool:
        """Whether its pitch comes and goes, or glides; not where the tracker hears another string."""
        if self.own == 0.0 or self.elsewhere or self.beside:
            return False
        return self.own < _LEAST_STEADY or self.spread_cents > _MOST_CENTS

    @property
    def no_string(self) -> bool:
        """Whether this is no plucked string."""
        steady = self.own >= _LEAST_STEADY or self.elsewhere
        least = string_concentration(self.pitch)
        if self.grown_db < (_ROSE_DB if self.alone else 0.0) and not self.elsewhere:
            clear = (
                self.concentration >= _PURE * least if self.alone else self.share >= _LITTLE_SHARE or steady
            )
            if not clear:
                return True
        thin = self.concentration < least
        if self.pitch >= _HIGH_MIDI:
            return (thin and not steady) or (self.unsteady and self.fall_db >= _DEAD_DB)
        return self._died(_BEATING_DB if self.beside else _DEAD_DB) or (self.unsteady and thin)

    @property
    def no_voice(self) -> bool:
        """Whether this is no voice: a bump."""
        return self._died(_VOICE_DEAD_DB)

    def _died(self, fall_db: float) -> bool:
        least = _SOLID * string_concentration(self.pitch)
        return self.pitch < _HIGH_MIDI and self.fall_db >= fall_db and self.concentration < least


def second_look(
    memory: SoundMemory,
    frames: list[Heard],
    start_s: float,
    pitch: float,
    f0_hz: float,
    *,
    before: float | None,
) -> SecondLook | None:
    """Measure a note; ``None`` until enough sound has followed its start.

    Parameters
    ----------
    before
        The pitch that was under way when it began, ``None`` where none was.
    """
    fresh = memory.fresh(start_s, longest_s=LOOK_S)
    if fresh is None:
        return None
    levels_db = [memory.partials_db(f0_hz, start_s + after_s) for after_s in _LEVELS_S]
    heard = [frame.pitch for frame in frames if _FROM_S <= frame.time_s - start_s <= _TO_S]
    others = [each for each in heard if each is not None and abs(each - pitch) > _OWN]
    own = [each for each in heard if each is not None and abs(each - pitch) <= _OWN]
    return SecondLook(
        pitch=pitch,
        fall_db=max(levels_db[:-1]) - levels_db[-1],
        grown_db=levels_db[0] - memory.partials_db(f0_hz, start_s - _LEVELS_S[0]),
        own=len(own) / max(1, len(heard)),
        spread_cents=100.0 * (max(own) - min(own)) if own else float("inf"),
        concentration=fresh.renewal(pitch).concentration,
        share=fresh.share,
        alone=before is None,
        beside=before is not None and abs(before - pitch) <= _BESIDE,
        elsewhere=len(others) > 1 and 100.0 * (max(others) - min(others)) <= _ELSEWHERE_CENTS,
    )
