"""The first listen to a recording: beats, bars, key, density, clarity, and the advice that follows."""

import json
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Self

from coach.hearing.beats import Beats, beats_of
from coach.hearing.beats_bars import Bars, find_bars
from coach.hearing.beats_phrases import phrase_ends_of
from coach.hearing.beats_strength import OnsetStrength, onset_strength
from coach.hearing.density import notes_per_s, voices
from coach.hearing.evidence import Clarity, clarity
from coach.hearing.key_finding import key_of_recording
from coach.pieces.survey import Advice, FirstAdvice, SurveyFacts, advise
from coach.sessions.ports import Jobs
from coach.sessions.recordings import AnalysedRecording, analysed
from coach.sessions.services import Services

FORMAT = 4
"""One more where the fields change or what is found does, so that older surveys are made anew."""
ONES_OF = (2, 3, 4)
NOTHING_SOUNDS = "Nothing can be heard in this recording: choose another one."


@dataclass(frozen=True, slots=True)
class Survey:
    """What a first listen found.

    Parameters
    ----------
    duration_s
        Length of the recording.
    tempo_bpm
        Quarter notes a minute; ``None`` where no beat was found.
    other_tempos_bpm
        Other readings of the same pulse, likeliest first.
    beats_s, bars_s
        Times of beats and of the first beats of bars, in seconds.
    meter
        Such as ``4/4``; ``None`` where no beat was found.
    ones
        For bars of 2, 3 and 4 beats: which beat most likely begins the first full one.
    bars_sure
        Whether the first beats of bars stand out; otherwise the player should tap ONE.
    phrase_ends
        How surely a phrase ends after the n-th bar, 0 to 1, index 0 unused: for `coach.pieces.sections`.
    tuning_cents
        How far the recording is tuned from A4 = 440 Hz, modulo a semitone: -50 to 50.
    notes_per_s, voices
        How dense it is: beginnings a second, pitches at once.
    melody_clarity, bass_clarity, checkable_share
        0 to 1.
    key
        Such as ``G``; ``None`` where none was found.
    advice, reasons
        See `coach.pieces.survey`.
    lost
        What could not be read of a damaged file, in a sentence; ``None`` if all was.
    """

    duration_s: float
    tempo_bpm: float | None
    other_tempos_bpm: tuple[float, ...]
    beats_s: tuple[float, ...]
    bars_s: tuple[float, ...]
    meter: str | None
    ones: tuple[int, ...]
    bars_sure: bool
    phrase_ends: tuple[float, ...]
    tuning_cents: float
    notes_per_s: float
    voices: float
    melody_clarity: float
    bass_clarity: float
    checkable_share: float
    key: str | None
    advice: str
    reasons: tuple[str, ...]
    lost: str | None

    def to_bytes(self) -> bytes:
        """For a cache."""
        return json.dumps(asdict(self)).encode()

    @classmethod
    def from_bytes(cls, kept: bytes) -> Self:
        """From what ``to_bytes`` gave; ``ValueError`` or ``TypeError`` where it is something else."""
        values: object = json.loads(kept)
        if not isinstance(values, dict):
            raise TypeError("a survey is kept as an object")
        parts: dict[str, Any] = {k: tuple(v) if isinstance(v, list) else v for k, v in values.items()}
        return cls(**parts)


def survey(services: Services, path: Path, jobs: Jobs | None = None) -> Survey:
    """Listen to a recording for the first time, or take what was found from the cache.

    Raises
    ------
    UnreadableFileError, TooLargeError
        If the file cannot be used.
    CancelledError
        If the user stopped it.
    """
    return survey_of(services, analysed(services, path, jobs), jobs)


def survey_of(services: Services, recording: AnalysedRecording, jobs: Jobs | None = None) -> Survey:
    """The same of a recording that was decoded and analysed already.

    Raises
    ------
    CancelledError
        If the user stopped it.
    """
    key = f"survey-{FORMAT}-{recording.audio.sha256}"
    kept = services.cache().get(key)
    if kept is not None:
        try:
            return Survey.from_bytes(kept)
        except (ValueError, TypeError):
            pass  # an old or damaged copy: it is made again below
    found = _listened(services, recording, jobs)
    services.cache().put(key, found.to_bytes())
    return found


def _listened(services: Services, recording: AnalysedRecording, jobs: Jobs | None) -> Survey:
    audio, analysis = recording.audio, recording.analysis
    strength = onset_strength(audio.mono, audio.rate_hz, progress=_teller(jobs, "Finding the beat"))
    beats = beats_of(strength)
    bars = find_bars(beats, strength) if beats.beats_s else None
    clear = clarity(
        analysis, services.evidence_model(), progress=_teller(jobs, "Listening for tune and bass")
    )
    density = (notes_per_s(strength), voices(analysis))
    key = key_of_recording(analysis)
    advice = _advice(beats, strength, density, clear)
    return Survey(
        duration_s=audio.duration_s,
        tempo_bpm=beats.tempo_bpm if bars else None,
        other_tempos_bpm=beats.other_tempos_bpm if bars else (),
        beats_s=beats.beats_s,
        bars_s=bars.bars_s if bars else (),
        meter=bars.meter if bars else None,
        ones=tuple(find_bars(beats, strength, count).first for count in ONES_OF) if bars else (),
        bars_sure=_sure(bars),
        phrase_ends=phrase_ends_of(strength, bars.bars_s) if bars else (),
        tuning_cents=analysis.tuning_cents,
        notes_per_s=density[0],
        voices=density[1],
        melody_clarity=clear.melody,
        bass_clarity=clear.bass,
        checkable_share=clear.checkable_share,
        key=key.key.name if key else None,
        advice=advice.advice.value,
        reasons=advice.reasons,
        lost=audio.lost,
    )


def _sure(bars: Bars | None) -> bool:
    return bars is not None and bars.sure


def _advice(
    beats: Beats, strength: OnsetStrength, density: tuple[float, float], clear: Clarity
) -> FirstAdvice:
    if strength.silent:
        return FirstAdvice(Advice.LATER, (NOTHING_SOUNDS,))
    return advise(
        SurveyFacts(
            tempo_bpm=beats.tempo_bpm,
            notes_per_s=density[0],
            voices=density[1],
            melody_clarity=clear.melody,
            bass_clarity=clear.bass,
            checkable_share=clear.checkable_share,
        )
    )


def _teller(jobs: Jobs | None, what: str) -> Callable[[float], None] | None:
    """Passes progress on; a job that the user has stopped raises from within."""
    return None if jobs is None else lambda share: jobs.progress(share, what)
