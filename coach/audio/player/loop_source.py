"""A loop as it is played: count-in, pass after pass, clicks."""

import numpy as np

from coach.audio.player.apart import to_the_left
from coach.audio.player.body import Body
from coach.sessions.ports import Samples

SWAP_S = 0.030
"""Cross-fade from the quick to the best rendering: long enough that a difference of phase is no click."""


class LoopSource:
    """The `Source` of a loop; starts anywhere, waits where nothing is rendered yet.

    Parameters
    ----------
    body
        The rendered pass, maybe still growing.
    start
        Frame of the pass to begin with.
    clicks
        Click sounds and their frames: within the pass, or negative (the count-in, before the first pass).
    lead
        Frames of count-in before the first pass.
    apart
        Whether the recording sounds on the left alone.
    """

    def __init__(
        self,
        body: Body,
        start: int,
        clicks: tuple[tuple[int, Samples], ...] = (),
        lead: int = 0,
        *,
        apart: bool = False,
    ) -> None:
        self._body = body
        self._coming: Body | None = None
        self._swapped = 0
        self.clicks = clicks
        self._apart = apart
        self._begin = start - lead
        self._start = start
        self._at = start - lead
        self._ringing: list[tuple[int, Samples]] = []
        self.waited = 0
        """Frames of silence given because nothing was ready."""

    @property
    def body(self) -> Body:
        """What is played."""
        return self._coming or self._body

    def swap(self, body: Body) -> None:
        """Go over to another rendering of the same pass."""
        self._swapped = 0
        self._coming = body

    def frame_after(self, heard: int) -> int | None:
        """Frame of the pass that is reached after so many frames were heard; ``None`` in the count-in."""
        at = self._begin + max(0, heard - self.waited)
        return at % self._body.plan.length if at >= self._start else None

    def read(self, count: int) -> Samples:
        """The next frames; never ends."""
        out = np.zeros((count, 2), np.float32)
        done = 0
        while done < count:
            part = self._next(count - done)
            if part is None:
                self.waited += count - done
                break
            out[done : done + part.shape[0]] = part
            self._strike(self._at, part.shape[0], done)
            self._at += part.shape[0]
            done += part.shape[0]
        return self._with_clicks(to_the_left(out) if self._apart else out)

    def _next(self, most: int) -> Samples | None:
        if self._at < self._start:
            return np.zeros((min(most, self._start - self._at), 2), np.float32)
        length = self._body.plan.length
        frame, first = self._at % length, self._at < length
        part = self._body.read(frame, most, first_pass=first)
        if self._coming is not None:
            part = self._swapping(self._coming, part, frame, first_pass=first)
        return part if part.shape[0] else None

    def _swapping(self, coming: Body, part: Samples, frame: int, *, first_pass: bool) -> Samples:
        other = coming.read(frame, part.shape[0], first_pass=first_pass)
        part = part[: other.shape[0]]
        span = round(SWAP_S * coming.plan.out_hz)
        share = np.minimum((self._swapped + np.arange(part.shape[0], dtype=np.float32)) / span, 1.0)[:, None]
        self._swapped += part.shape[0]
        if self._swapped >= span:
            self._body, self._coming = coming, None
        return np.asarray(part * (1.0 - share) + other * share, np.float32)

    def _strike(self, at: int, count: int, done: int) -> None:
        """Begin the clicks in ``count`` frames of the pass from ``at`` on, ``done`` frames into the block."""
        counting_in = at < self._start
        here = at if counting_in else at % self._body.plan.length
        for frame, sound in self.clicks:
            place = frame + self._start if frame < 0 else frame
            if (frame < 0) == counting_in and here <= place < here + count:
                self._ringing.append((done + place - here, sound))

    def _with_clicks(self, out: Samples) -> Samples:
        """Add what rings; a click's beginning is counted from the block's, and negative for an older one."""
        count = out.shape[0]
        for begin, sound in self._ringing:
            first, skip = max(0, begin), max(0, -begin)
            run = max(0, min(count - first, sound.shape[0] - skip))
            out[first : first + run] += sound[skip : skip + run]
        ringing = ((begin - count, sound) for begin, sound in self._ringing)
        self._ringing = [(begin, sound) for begin, sound in ringing if begin + sound.shape[0] > 0]
        return out
