"""The first listen: what a recording is like, before anything is decided."""

from dataclasses import dataclass

from coach.hearing.evidence import Clarity, clarity
from coach.sessions.ports import Jobs
from coach.sessions.practice_room import PracticeRoom


@dataclass(frozen=True, slots=True)
class FirstListen:
    """Facts about a recording.

    Parameters
    ----------
    duration_s
        Its length.
    tuning_cents
        How far it is tuned from the standard, modulo a semitone.
    clarity
        How clear its lines are, and the share of notes that a check would answer.
    """

    duration_s: float
    tuning_cents: float
    clarity: Clarity

    @property
    def sentences(self) -> tuple[str, ...]:
        """The facts in words."""
        share = round(100 * self.clarity.checkable_share)
        return (
            f"It lasts {self.duration_s:.0f} seconds.",
            _tuning_words(self.tuning_cents),
            f"I will be able to answer about {share} of 100 of its notes.",
        )


def first_listen(room: PracticeRoom, jobs: Jobs | None = None) -> FirstListen:
    """Listen to the recording of the piece in hand."""
    recording = room.recording(jobs)
    model = room.services.evidence_model()

    def tell(share: float) -> None:
        if jobs is not None:
            jobs.progress(share, "Listening for tune and bass")

    found = clarity(recording.analysis, model, progress=tell)
    return FirstListen(recording.audio.duration_s, recording.analysis.tuning_cents, found)


def _tuning_words(cents: float) -> str:
    if abs(cents) < 5:
        return "It is in tune with a tuned guitar."
    side = "higher" if cents > 0 else "lower"
    return f"It is {abs(cents):.0f} hundredths of a fret {side} than a tuned guitar; I will play it in tune."
