"""The recording on the left, the written line on the right: two ears can tell them apart.

A device of one channel plays the mean of both sides, so that nothing is lost there.
"""

from collections.abc import Iterator

import numpy as np

from coach.audio.mixer import linear
from coach.audio.player.plan import LoopPlan
from coach.sessions.player_port import LoopPart
from coach.sessions.ports import Samples
from coach.tones.lines import line_gap_s
from coach.tones.prompt import PromptNote, Timbre
from coach.tones.rendering import render_unlimited

LINE_GAIN_DB = -6.0
"""The app's own sound starts quiet."""


def to_the_left(stereo: Samples) -> Samples:
    """Both channels as one on the left, shape (n, 2)."""
    out = np.zeros_like(stereo)
    out[:, 0] = stereo.mean(axis=1)
    return out


def notes_on_the_right(part: LoopPart, plan: LoopPlan) -> Iterator[tuple[int, Samples]]:
    """Frame of the pass and sound, shape (n, 2), of every note that begins within the part."""
    for note in part.beside or ():
        if not part.from_s <= note.start_s < part.to_s:
            continue
        length_s = (min(note.end_s, part.to_s) - note.start_s) / part.speed
        alone = PromptNote(note.midi, 0.0, max(0.05, length_s - line_gap_s(length_s)), note.timbre)
        mono = render_unlimited([alone], Timbre.PLUCK, plan.out_hz) * np.float32(linear(LINE_GAIN_DB))
        stereo = np.zeros((mono.shape[0], 2), np.float32)
        stereo[:, 1] = mono
        yield plan.frame_at(note.start_s), stereo
