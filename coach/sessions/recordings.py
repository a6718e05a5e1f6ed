"""Recordings: decoded, and analysed once."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from coach.errors import UnreadableFileError
from coach.hearing.evidence import RecordingAnalysis, analyse
from coach.hearing.evidence.analysis import FORMAT
from coach.hearing.evidence.spectrum import thinned
from coach.sessions.ports import DecodedAudio, Jobs
from coach.sessions.services import Services


@dataclass(frozen=True, slots=True, eq=False)
class AnalysedRecording:
    """A recording and everything that questions about its notes need."""

    audio: DecodedAudio
    analysis: RecordingAnalysis


def analysed(services: Services, path: Path, jobs: Jobs | None = None) -> AnalysedRecording:
    """Decode a recording and analyse it, or take the analysis from the cache.

    Raises
    ------
    UnreadableFileError, TooLargeError
        If the file cannot be used.
    CancelledError
        If the user stopped it.
    """
    audio = services.decoder().decode(path, jobs)
    key = f"analysis-{FORMAT}-{audio.sha256}"
    kept = services.cache().get(key)
    if kept is not None:
        try:
            return AnalysedRecording(audio, RecordingAnalysis.from_bytes(kept))
        except UnreadableFileError:
            pass  # an old or damaged copy: it is made again below
    thin, rate_hz = thinned(audio.mono, audio.rate_hz)  # so that the whole is not held any longer
    analysis = analyse(thin, rate_hz, progress=_teller(jobs))
    services.cache().put(key, analysis.to_bytes())
    return AnalysedRecording(audio, analysis)


def _teller(jobs: Jobs | None) -> Callable[[float], None] | None:
    """Passes progress on; a job that the user has stopped raises from within."""
    if jobs is None:
        return None
    return lambda share: jobs.progress(share, "Listening to the recording")
