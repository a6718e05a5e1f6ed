"""The sound of one pass of a loop, filled piece by piece while it may be playing already."""

import numpy as np

from coach.audio.fades import rising
from coach.audio.player.plan import LoopPlan
from coach.sessions.ports import Samples

JOINT_S = 0.004
"""Cross-fade between pieces: as long as the lead into an attack, where they usually meet."""

SEAM_S = 0.006
"""Cross-fade from the end of a pass to the beginning of the next: short, to keep the first attack."""


class Body:
    """Frames of one pass at the output's rate, and which of them are there.

    Filled by one thread and read by another: a piece is flagged after it was written.
    """

    def __init__(self, plan: LoopPlan) -> None:
        self.plan = plan
        self.sound = np.zeros((plan.length, 2), np.float32)
        self._ready = [False] * len(plan.pieces)
        self._leads = [np.zeros((0, 2), np.float32)] * len(plan.pieces)
        self._seam = np.zeros((0, 2), np.float32)

    @property
    def whole(self) -> bool:
        """Whether all of it is there."""
        return all(self._ready)

    def piece_at(self, frame: int) -> int:
        """Number of the piece that holds a frame."""
        return next((number for number, piece in enumerate(self.plan.pieces) if frame < piece.end), 0)

    def is_ready(self, number: int) -> bool:
        """Whether a piece is there."""
        return self._ready[number]

    def ready_from(self, frame: int) -> int:
        """How many frames can be read from here, at most to the end of the piece."""
        number = self.piece_at(frame)
        return self.plan.pieces[number].end - frame if self._ready[number] else 0

    def put(self, number: int, rendered: Samples, before: int) -> None:
        """Lay in a rendered piece, whose first ``before`` frames lie ahead of it; more may follow it.

        The rest behind the last piece makes the seam.
        """
        piece = self.plan.pieces[number]
        count = piece.end - piece.begin
        inside = rendered[before : before + count]
        self.sound[piece.begin : piece.begin + inside.shape[0]] = inside
        joint = min(round(JOINT_S * self.plan.out_hz), before)
        self._leads[number] = rendered[before - joint : before]
        if number == len(self._ready) - 1:
            behind = rendered[before + count :][: round(SEAM_S * self.plan.out_hz)]
            self._seam = behind * (1.0 - rising(behind.shape[0]))
        self._ready[number] = True
        for later in (number, number + 1):
            self._join(later)

    def _join(self, number: int) -> None:
        """Fade over to a piece, just before it begins, once it and the piece before it are there."""
        if 0 < number < len(self._ready) and self._ready[number] and self._ready[number - 1]:
            lead, self._leads[number] = self._leads[number], np.zeros((0, 2), np.float32)
            begin = self.plan.pieces[number].begin
            count = min(lead.shape[0], begin)
            fade = rising(count)
            region = self.sound[begin - count : begin]
            self.sound[begin - count : begin] = region * (1.0 - fade) + lead[lead.shape[0] - count :] * fade

    def fill_whole(self, sound: Samples, seam: Samples) -> None:
        """Take everything at once (from a cache)."""
        self.sound[:] = sound
        self._seam = seam
        self._ready = [True] * len(self._ready)

    @property
    def seam(self) -> Samples:
        """What goes on sounding of the pass before over the beginning of the next one, fading."""
        return self._seam

    def read(self, frame: int, most: int, *, first_pass: bool) -> Samples:
        """Frames from a place within the pass on: as many as are there, to the end of the piece at most."""
        out = self.sound[frame : frame + min(most, self.ready_from(frame))]
        seam = self._seam.shape[0]
        if first_pass or frame >= seam or out.shape[0] == 0:
            return out
        joined = out.copy()
        run = min(seam - frame, out.shape[0])
        rise = rising(seam)[frame : frame + run]
        joined[:run] = joined[:run] * rise + self._seam[frame : frame + run]
        return joined
