"""How a section is cut into pieces that are rendered one by one, so that the first is heard soon."""

from dataclasses import dataclass

from coach.audio.attacks import find_attacks
from coach.sessions.player_port import LoopPart
from coach.sessions.ports import Samples

PIECE_S = 2.0
"""Length of a piece: quick rendering takes a few tenths of a second for it."""

SEARCH_S = 0.6
"""A cut is moved to an attack this near: what is sharp hides a joint."""

CONTEXT_S = 0.100
"""What is rendered beyond a piece at both ends, so that its ends are no edges."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of the section: samples [first, last) of the recording, and its frames in the loop."""

    first: int
    last: int
    begin: int
    end: int


@dataclass(frozen=True, slots=True)
class LoopPlan:
    """A section on its way to the output's rate.

    Parameters
    ----------
    part
        What is played.
    rate_hz
        Of the recording.
    out_hz
        Of the output.
    pieces
        In order, without gaps.
    """

    part: LoopPart
    rate_hz: int
    out_hz: int
    pieces: tuple[Piece, ...]

    @property
    def length(self) -> int:
        """Frames of one pass."""
        return self.pieces[-1].end

    def frame_at(self, recording_s: float) -> int:
        """Frame of the loop for a place in the recording."""
        return round((recording_s - self.part.from_s) / self.part.speed * self.out_hz)

    def place_s(self, frame: int) -> float:
        """Place in the recording for a frame of the loop."""
        return self.part.from_s + frame % self.length / self.out_hz * self.part.speed


def cut_section(stereo: Samples, rate_hz: int, part: LoopPart) -> tuple[int, ...]:
    """Samples at which a section begins, is cut into pieces and ends: at attacks, about every `PIECE_S`.

    Raises
    ------
    ValueError
        If the part lies outside of the recording.
    """
    first = round(part.from_s * rate_hz)
    last = min(round(part.to_s * rate_hz), stereo.shape[0])
    if last <= first:
        raise ValueError("the part lies behind the end of the recording")
    cuts = [first]
    piece, search = round(PIECE_S * rate_hz), round(SEARCH_S * rate_hz)
    while last - cuts[-1] > 1.5 * piece:
        wanted = cuts[-1] + piece
        near = () if part.plain else find_attacks(stereo[wanted - search : wanted + search], rate_hz)
        places = (int(at) + wanted - search for at in near)
        cuts.append(min(places, key=lambda at: abs(at - wanted), default=wanted))
    return (*cuts, last)


def plan_loop(cuts: tuple[int, ...], rate_hz: int, part: LoopPart, out_hz: int) -> LoopPlan:
    """Where the pieces of a cut section lie in the loop."""
    scale = out_hz / rate_hz / part.speed
    frames = [round((cut - cuts[0]) * scale) for cut in cuts]
    frames[-1] = max(frames[-1], 1)
    pieces = tuple(
        Piece(cuts[number], cuts[number + 1], frames[number], frames[number + 1])
        for number in range(len(cuts) - 1)
    )
    return LoopPlan(part, rate_hz, out_hz, pieces)
