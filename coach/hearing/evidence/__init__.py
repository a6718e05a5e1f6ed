"""Which notes a recording holds: analysis once, evidence for a marked span in milliseconds."""

from coach.hearing.evidence.analysis import RecordingAnalysis, analyse
from coach.hearing.evidence.clarity import Clarity, clarity
from coach.hearing.evidence.judged import evidence
from coach.hearing.evidence.model import EvidenceModel
from coach.hearing.evidence.posterior import Bars, PitchEvidence, SettledNote

__all__ = [
    "Bars",
    "Clarity",
    "EvidenceModel",
    "PitchEvidence",
    "RecordingAnalysis",
    "SettledNote",
    "analyse",
    "clarity",
    "evidence",
]
