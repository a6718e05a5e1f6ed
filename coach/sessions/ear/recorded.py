"""An answer heard in a recording, by the live code."""

from dataclasses import replace

import numpy as np

from coach.drills.answers import HeardNotes, HeardOnsets
from coach.drills.kinds import AnswerForm
from coach.drills.prompt import Prompt
from coach.drills.solid import settled
from coach.hearing.decimate import Decimator
from coach.hearing.engines import PitchEngine
from coach.hearing.listening import listen
from coach.hearing.onsets import OnsetDetector
from coach.music import PerformedNote, Span
from coach.sessions.ports import Samples

BEFORE_S, AFTER_S = 0.4, 0.2
"""The live ear knows the room before the answer begins; a recording may begin with its first note."""
_ROOM_S = 0.05
_ROOM_DB = -20.0
"""The quietest moment is the room where it lies so far below the loudest; else the room was silent."""


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
    whole = _in_its_room(samples, rate_hz)
    if prompt.kind.form is AnswerForm.ONSETS:
        return _struck(whole, rate_hz)
    heard = listen(whole, rate_hz, engine=engine, source=prompt.by.value, a4_hz=a4_hz)
    return HeardNotes(tuple(settled(_earlier(note), prompt.by) for note in heard.notes))


def _struck(samples: Samples, rate_hz: int) -> HeardOnsets:
    decimator, detector = Decimator(rate_hz), OnsetDetector()
    onsets = detector.found(decimator.push(samples)) + detector.found(decimator.flush())
    times_s = tuple(max(0.0, onset.time_s - BEFORE_S) for onset in onsets)
    return HeardOnsets(times_s, tuple(onset.strength for onset in onsets))


def _earlier(note: PerformedNote) -> PerformedNote:
    start_s = max(0.0, note.span.start_s - BEFORE_S)
    span = Span(start_s, max(note.span.end_s - BEFORE_S, start_s + 0.001))
    return replace(note, span=span, decided_s=max(0.0, note.decided_s - BEFORE_S))


def _in_its_room(samples: Samples, rate_hz: int) -> Samples:
    """The recording with a moment of its own room before and after it."""
    room = _room(samples, rate_hz)
    before = np.resize(room, round(BEFORE_S * rate_hz))
    after = np.resize(room, round(AFTER_S * rate_hz))
    return np.concatenate([before, samples, after])


def _room(samples: Samples, rate_hz: int) -> Samples:
    """The quietest moment of a recording, and the same backwards, so that it can be put end to end."""
    length = max(1, round(_ROOM_S * rate_hz))
    count = len(samples) // length
    if count == 0:
        return np.zeros(length, np.float32)
    parts = samples[: count * length].reshape(count, length)
    power = np.square(parts.astype(np.float64)).mean(axis=1)
    if power.min() > power.max() * 10.0 ** (_ROOM_DB / 10.0):
        return np.zeros(length, np.float32)
    quietest = parts[int(np.argmin(power))]
    return np.concatenate([quietest, quietest[::-1]])
