"""The phrases of a recording on the beat that the player has set."""

from dataclasses import dataclass

from coach.hearing.beats_phrases import phrase_ends_of
from coach.hearing.beats_strength import onset_strength
from coach.practice.piece_state import PieceState
from coach.sessions.piece.material import grid_of
from coach.sessions.ports import DecodedAudio, Jobs

_LAST_BAR_SHARE = 0.75
"""A last bar of which so much is there counts: recordings are often cut off in its ringing."""


@dataclass(frozen=True, slots=True)
class Phrases:
    """Full bars of the recording, and how surely a phrase ends after each (index 0 unused), 0 to 1."""

    bar_count: int
    ends: tuple[float, ...]


def phrases_of(piece: PieceState, audio: DecodedAudio, jobs: Jobs | None = None) -> Phrases:
    """Count the bars and hear where phrases end.

    Raises
    ------
    ScopeError
        If the beat has not been set.
    CancelledError
        If the player stopped it.
    """
    grid, bar = grid_of(piece), piece.meter.bar
    quarters = grid.quarter_of(audio.duration_s) - float(piece.pickup)
    count = max(1, int(quarters / float(bar) + 1.0 - _LAST_BAR_SHARE))
    starts_s = [grid.second_of(piece.pickup + bar * number) for number in range(count + 1)]
    teller = None if jobs is None else lambda share: jobs.progress(share, "Listening for phrases")
    strength = onset_strength(audio.mono, audio.rate_hz, progress=teller)
    return Phrases(count, phrase_ends_of(strength, starts_s))
