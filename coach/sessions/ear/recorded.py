"""An answer heard in a recording, by the live code."""

from coach.drills.answers import HeardNotes, HeardOnsets
from coach.drills.kinds import AnswerForm, By
from coach.drills.prompt import Prompt
from coach.drills.solid import recentred
from coach.hearing.decimate import Decimator
from coach.hearing.engines import PitchEngine
from coach.hearing.listening import listen
from coach.hearing.onsets import OnsetDetector
from coach.sessions.ports import Samples


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
        decimator, detector = Decimator(rate_hz), OnsetDetector()
        onsets = detector.found(decimator.push(samples)) + detector.found(decimator.flush())
        return HeardOnsets(tuple(onset.time_s for onset in onsets), tuple(onset.strength for onset in onsets))
    heard = listen(samples, rate_hz, engine=engine, source=prompt.by.value, a4_hz=a4_hz)
    sung = prompt.by is By.VOICE
    return HeardNotes(tuple(recentred(note) for note in heard.notes) if sung else heard.notes)
