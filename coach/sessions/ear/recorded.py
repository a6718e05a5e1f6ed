"""An answer heard in a recording, by the live code."""

import numpy as np

from coach.drills.answers import HeardNotes, HeardOnsets
from coach.drills.kinds import AnswerForm, By
from coach.drills.prompt import Prompt
from coach.drills.solid import recentred
from coach.hearing.decimate import Decimator
from coach.hearing.engines import PitchEngine
from coach.hearing.listening import listen
from coach.hearing.onsets import OnsetDetector
from coach.sessions.ports import Samples

BEFORE_S, AFTER_S = 0.3, 0.2
"""The onset detector needs a moment of the room before the first stroke and after the last one."""
_ROOM_S = 0.05


def heard_answer(
    prompt: Prompt, samples: Samples, rate_hz: int, *, a4_hz: float, engine: PitchEngine
) -> HeardNotes | HeardOnsets:
    """What was answered in a recording that starts when listening starts.

    Parameters
    ----------
    prompt
        Says whether notes or moments are wanted, and who is heard.
    samples, rate_hz
        Mono, shape (n,).
    a4_hz
        The tuning.
    engine
        The pitch engine.
    """
    if prompt.kind.form is AnswerForm.ONSETS:
        return _struck(samples, rate_hz)
    heard = listen(samples, rate_hz, engine=engine, source=prompt.by.value, a4_hz=a4_hz)
    sung = prompt.by is By.VOICE
    return HeardNotes(tuple(recentred(note) for note in heard.notes) if sung else heard.notes)


def _struck(samples: Samples, rate_hz: int) -> HeardOnsets:
    """Struck moments, also those at the very first and the very last of the recording."""
    room = _room(samples, rate_hz)
    before = np.resize(room, round(BEFORE_S * rate_hz))
    after = np.resize(room, round(AFTER_S * rate_hz))
    decimator, detector = Decimator(rate_hz), OnsetDetector()
    onsets = detector.found(decimator.push(np.concatenate([before, samples, after])))
    onsets += detector.found(decimator.flush())
    times_s = tuple(max(0.0, onset.time_s - BEFORE_S) for onset in onsets)
    return HeardOnsets(times_s, tuple(onset.strength for onset in onsets))


def _room(samples: Samples, rate_hz: int) -> Samples:
    """The quietest moment of a recording, and the same backwards, so that it can be put end to end."""
    length = max(1, round(_ROOM_S * rate_hz))
    count = len(samples) // length
    if count == 0:
        return np.zeros(length, np.float32)
    parts = samples[: count * length].reshape(count, length)
    quietest = parts[int(np.argmin(np.square(parts).sum(axis=1)))]
    return np.concatenate([quietest, quietest[::-1]])
