"""The straight tempo line of a take: where it begins and how fast it goes, found from what was heard."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from statistics import median

from coach.hearing.take import Beginning, TakeEvidence

TEMPI_BPM = (40.0, 110.0)
"""Quarter notes a minute that are looked for."""
_ANCHORS = 4
"""So many of the first and of the last moments are tried as the ends of the line."""
_MOST_HEARD = 60
"""So many of the first and of the last onsets are tried, too."""
_CATCH_S = 0.12
"""An onset at most so far from the line may be what the moment sounds like."""
_PITCH_AT_LEAST = 0.1
"""How strongly a pitch must begin to be there, against the strongest at that onset."""
_UNHEARD_COST = 0.25
"""What an onset that stands beside the line costs, against one that stands on it."""
_ROUNDS = 4
"""So often the line is drawn anew."""
_TRUSTED_S = 0.08
"""An onset further from the line than this is a slip, and does not bend it."""

Moments = Mapping[Fraction, tuple[int, ...]]
"""The pitches that are struck at each musical time."""


@dataclass(frozen=True, slots=True)
class TempoLine:
    """A straight line through a take.

    Parameters
    ----------
    start_s
        Where musical time 0 lies.
    quarter_s
        Seconds a quarter note lasts.
    """

    start_s: float
    quarter_s: float

    @property
    def tempo_bpm(self) -> float:
        """Quarter notes a minute."""
        return 60.0 / self.quarter_s

    def at(self, onset: Fraction) -> float:
        """Seconds of a musical time."""
        return self.start_s + float(onset) * self.quarter_s


def find_line(moments: Moments, heard: TakeEvidence, tempo_bpm: float | None = None) -> TempoLine | None:
    """The line that most moments lie on with their pitches, ``None`` where nothing fits.

    Every pairing of an early moment and onset with a late moment and onset is a line; the best of them is
    drawn anew through all that lies near it.

    Parameters
    ----------
    tempo_bpm
        A given tempo; ``None`` looks between 40 and 110.
    """
    times = sorted(moments)
    lines = _candidates(times, moments, heard, tempo_bpm)
    best = max(lines, key=lambda line: _score(line, moments, heard), default=None)
    if best is None:
        return None
    for _ in range(_ROUNDS):
        best = _drawn_anew(best, moments, heard, fixed=tempo_bpm is not None)
    return best


def fits(there: Beginning, pitches: Sequence[int]) -> float:
    """How well the pitches of a moment fit what begins at an onset: the share of them that begin, 0 to 1."""
    return sum(there.of(midi) >= _PITCH_AT_LEAST for midi in pitches) / len(pitches)


def _candidates(
    times: Sequence[Fraction], moments: Moments, heard: TakeEvidence, tempo_bpm: float | None
) -> set[TempoLine]:
    first, last = times[:_ANCHORS], times[-_ANCHORS:]
    begun = heard.beginnings
    starts = _anchors(first, begun[:_MOST_HEARD], moments)
    if tempo_bpm is not None:
        quarter_s = 60.0 / tempo_bpm
        ends = _anchors(last, begun[-_MOST_HEARD:], moments)
        return {TempoLine(at_s - float(q) * quarter_s, quarter_s) for q, at_s in (*starts, *ends)}
    if len(times) == 1:
        return {TempoLine(at_s - float(q), 1.0) for q, at_s in starts}
    lines = set()
    for (q, at_s), (later, later_s) in product(starts, _anchors(last, begun[-_MOST_HEARD:], moments)):
        if later > q and later_s > at_s:
            quarter_s = (later_s - at_s) / float(later - q)
            if TEMPI_BPM[0] <= 60.0 / quarter_s <= TEMPI_BPM[1]:
                lines.add(TempoLine(at_s - float(q) * quarter_s, quarter_s))
    return lines


def _anchors(
    times: Sequence[Fraction], begun: Sequence[Beginning], moments: Moments
) -> list[tuple[Fraction, float]]:
    return [(q, b.time_s) for q in times for b in begun if fits(b, moments[q]) > 0]


def _score(line: TempoLine, moments: Moments, heard: TakeEvidence) -> float:
    """Moments that are met with their pitches, less the onsets that are left over within the piece."""
    met, used = 0.0, set()
    for onset, pitches in moments.items():
        at_s = line.at(onset)
        there = heard.near(at_s, _CATCH_S)
        if there is not None:
            used.add(there.time_s)
            closeness = 1.0 - 0.5 * abs(there.time_s - at_s) / _CATCH_S
            met += closeness * (0.2 + 0.8 * fits(there, pitches))
    first_s, last_s = line.at(min(moments)) - _CATCH_S, line.at(max(moments)) + _CATCH_S
    left = sum(1 for b in heard.beginnings if first_s <= b.time_s <= last_s and b.time_s not in used)
    return met - _UNHEARD_COST * left


def _drawn_anew(line: TempoLine, moments: Moments, heard: TakeEvidence, *, fixed: bool) -> TempoLine:
    """Least squares through the onsets near the line whose pitches fit; single slips do not bend it."""
    points = []
    for onset, pitches in moments.items():
        there = heard.near(line.at(onset), _CATCH_S)
        if there is not None and fits(there, pitches) > 0:
            points.append((float(onset), there.time_s))
    if not points:
        return line
    start_s = line.start_s + median(t - line.start_s - q * line.quarter_s for q, t in points)
    near = [(q, t) for q, t in points if abs(t - start_s - q * line.quarter_s) <= _TRUSTED_S]
    if fixed or len(near) < 4:
        return TempoLine(start_s, line.quarter_s)
    mean_q = sum(q for q, _ in near) / len(near)
    mean_s = sum(t for _, t in near) / len(near)
    spread = sum((q - mean_q) ** 2 for q, _ in near)
    if spread == 0.0:
        return TempoLine(start_s, line.quarter_s)
    slope = sum((q - mean_q) * (t - mean_s) for q, t in near) / spread
    quarter_s = min(60.0 / TEMPI_BPM[0], max(60.0 / TEMPI_BPM[1], slope))
    return TempoLine(mean_s - mean_q * quarter_s, quarter_s)
