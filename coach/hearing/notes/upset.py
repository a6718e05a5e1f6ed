"""Whether a ringing string was struck again, however softly: its partials leave the way they were going.

A string that rings on loses each partial steadily. A finger that plucks it anew stops it first, and what it
sets going has other levels: some partials come out higher and some lower than they would have been. The sum
may even fall, so that nothing seems new. A noise beside the string leaves its partials alone.
"""

from dataclasses import dataclass

import numpy as np

from coach.hearing.notes.memory import SoundMemory

_BEFORE_S, _AFTER_S = (-0.094, -0.064, -0.034), (0.034, 0.066)
"""Middles of pieces of 48 ms: none of them reaches over the onset."""
_STEEPEST_DB_PER_S = 80.0
"""No partial is expected to go on falling faster, and none to rise."""
_CLEAR_DB = 6.0
"""A partial counts that stands so far over what lies halfway to its neighbours."""
_FAINT_DB = 45.0
"""Partials so far under the strongest do not count."""
_FEW = 3
"""With fewer that count nothing is told."""
_RANG = 0.5
"""A pitch of which fewer partials stood out before was not ringing."""
_UPSET_DB, _LITTLE_DB, _QUIET_SHARE = 2.2, 1.0, 0.3
_LEAST_STRENGTH, _STRONG = 0.10, 0.18
_CLEAN_DB, _CLEANEST_DB = 10.0, 27.0
"""Measured at 271 notes struck again on their own string and 501 handling noises over a ringing one: partials
were upset by 2.2 dB or more (their median) at 95 % of the notes, by less at 90 % of the noises, and where
they were, they mostly hardly stood out of the noise. Fewer than three in ten partials may stay where they
were: a string an octave higher upsets every other one. Strings that beat upset each other, too: their onsets
are weak. So does a piano that plays along softly: its onsets are no stronger than 0.17, and it keeps the
partials from standing out by more than 26 dB (nine in ten of each; of 35 notes struck again, three have
neither the one nor the other)."""


@dataclass(frozen=True, slots=True)
class Upset:
    """How far the partials of a pitch left their way at an onset.

    Parameters
    ----------
    median_db
        Median over the partials of the distance, up or down, from where each was going.
    least_db
        The same for those that left least: three in ten did by less.
    clear_db
        Median over the partials of how far each stands out of the noise after the onset.
    rang
        Share of the partials that stood out before it.
    """

    median_db: float
    least_db: float
    clear_db: float
    rang: float

    def struck_again(self, strength: float) -> bool:
        """Whether a string was plucked, with an onset of so much strength (see `Onset`)."""
        told = strength >= _LEAST_STRENGTH and self.clear_db >= _CLEAN_DB and self.rang >= _RANG
        alone = strength >= _STRONG or self.clear_db >= _CLEANEST_DB
        return told and alone and self.median_db >= _UPSET_DB and self.least_db >= _LITTLE_DB


def upset(memory: SoundMemory, f0_hz: float, onset_s: float) -> Upset | None:
    """Measure a ringing pitch around an onset; ``None`` until 90 ms have followed it."""
    if memory.end_s < onset_s + _AFTER_S[-1] + memory.HALF_PIECE_S:
        return None
    then = [memory.each_partial_db(f0_hz, onset_s + shift_s) for shift_s in _BEFORE_S]
    now = [memory.each_partial_db(f0_hz, onset_s + shift_s) for shift_s in _AFTER_S]
    slope = (then[-1].on - then[0].on) / (_BEFORE_S[-1] - _BEFORE_S[0])
    ahead_s = float(np.mean(_AFTER_S)) - _BEFORE_S[-1]
    expected = then[-1].on + np.clip(slope, -_STEEPEST_DB_PER_S, 0.0) * ahead_s
    after = np.mean([each.on for each in now], axis=0)
    noise = np.mean([each.between for each in now], axis=0)
    floor = max(float(then[-1].on.max()), float(after.max())) - _FAINT_DB
    stood = (then[-1].on > then[-1].between + _CLEAR_DB) & (then[-1].on > floor)
    stands = (after > noise + _CLEAR_DB) & (after > floor)
    counts = stood | stands
    if int(counts.sum()) < _FEW:
        return Upset(0.0, 0.0, 0.0, 0.0)
    left = np.abs(after - expected)[counts]
    return Upset(
        median_db=float(np.median(left)),
        least_db=float(np.quantile(left, _QUIET_SHARE)),
        clear_db=float(np.median((after - noise)[counts])),
        rang=float(stood[counts].mean()),
    )
