"""Renders pieces of a loop, and keeps whole passes in the cache."""

import hashlib

import numpy as np

from coach.audio.player.body import Body
from coach.audio.player.plan import CONTEXT_S, LoopPlan
from coach.audio.resample import resampled
from coach.sessions.ports import Samples, Stretcher

_VERSION = 3
"""Raise it when the same part would sound different: old passes in caches are then left alone."""

_FULL = 32_767.0


def render_piece(
    stereo: Samples, body: Body, number: int, stretcher: Stretcher, *, best: bool, gain: float | None = None
) -> None:
    """Render one piece with its context and lay it into the body; ``gain`` is that of the whole section."""
    plan = body.plan
    piece, part = plan.pieces[number], plan.part
    context = round(CONTEXT_S * plan.rate_hz)
    first, last = max(0, piece.first - context), min(stereo.shape[0], piece.last + context)
    moved = stretcher.render(
        stereo[first:last],
        plan.rate_hz,
        speed=part.speed,
        shift_semitones=part.shift_semitones,
        emphasis=part.emphasis,
        best=best,
        gain=gain,
    )
    here = resampled(moved, plan.rate_hz, plan.out_hz)
    before = round((piece.first - first) / part.speed * plan.out_hz / plan.rate_hz)
    wanted = before + piece.end - piece.begin
    missing = max(0, wanted - here.shape[0])
    body.put(number, np.pad(here, ((0, missing), (0, 0))), before)


def cache_key(name: str, plan: LoopPlan) -> str:
    """A key for a whole pass: letters and digits."""
    part = plan.part
    words = (
        _VERSION, name, plan.rate_hz, plan.out_hz, part.from_s, part.to_s, part.speed, part.shift_semitones,
        part.emphasis.value,
    )  # fmt: skip
    return "loop-" + hashlib.sha256(repr(words).encode()).hexdigest()[:40]


def pack(body: Body) -> bytes:
    """A whole pass and its seam as 16-bit samples with their common scale."""
    both = np.concatenate([body.sound, body.seam])
    scale = max(float(np.abs(both).max(initial=0.0)), 1e-6)
    head = np.array([scale, body.sound.shape[0]], "<f8").tobytes()
    return head + np.round(both * (_FULL / scale)).astype("<i2").tobytes()


def unpack(data: bytes, body: Body) -> bool:
    """Fill the body from what `pack` made; ``False`` if the bytes are of another length."""
    if len(data) < 16 or (len(data) - 16) % 4:
        return False
    scale, frames = np.frombuffer(data[:16], "<f8")
    both = np.frombuffer(data[16:], "<i2").reshape(-1, 2).astype(np.float32) * np.float32(scale / _FULL)
    if frames != body.sound.shape[0] or both.shape[0] < frames:
        return False
    body.fill_whole(both[: int(frames)], both[int(frames) :])
    return True
