"""Everything that can be written into the log: a closed union of frozen values.

An event never changes once written. A new meaning gets a new ``version``, and `coach.practice.codec` keeps
reading the old ones. Times in ``_s`` are seconds of the recording or of practice, musical times are exact
fractions of a quarter note, ``midi`` is the sounding pitch.
"""

from dataclasses import dataclass
from datetime import datetime

from coach.practice.events.daily import (
    AimSet,
    Calibrated,
    DrillAnswered,
    DrillPassed,
    SmallerAccepted,
    StringTuned,
    TimeSpent,
    VoiceHeard,
)
from coach.practice.events.exchange import BackupMade, PackOpened, ReplyOpened, ReportShared
from coach.practice.events.lines import (
    HandWished,
    HintTaken,
    IdeaNoted,
    LineReopened,
    LineSettled,
    LineWritten,
    NoteChecked,
    NoteRecord,
    NoteWished,
    PieceFinished,
    PlayedSettled,
    PlayedThrough,
    TakeKept,
    TogetherSettled,
)
from coach.practice.events.piece import (
    GridSet,
    KeyChosen,
    PieceChosen,
    PieceSetAside,
    PieceTakenUp,
    RhythmMade,
    SectionRecord,
    SectionsSet,
)

Event = (
    PieceChosen
    | PieceSetAside
    | PieceTakenUp
    | GridSet
    | SectionsSet
    | RhythmMade
    | KeyChosen
    | LineWritten
    | NoteChecked
    | HintTaken
    | LineSettled
    | LineReopened
    | HandWished
    | TogetherSettled
    | PlayedThrough
    | PlayedSettled
    | TakeKept
    | PieceFinished
    | IdeaNoted
    | DrillAnswered
    | DrillPassed
    | StringTuned
    | VoiceHeard
    | TimeSpent
    | Calibrated
    | AimSet
    | SmallerAccepted
    | PackOpened
    | ReplyOpened
    | ReportShared
    | BackupMade
)
"""The closed union of all log events."""


@dataclass(frozen=True, slots=True)
class LoggedEvent:
    """An event with its number in the log (from 1) and its moment (with time zone)."""

    seq: int
    at: datetime
    event: Event


__all__ = [
    "AimSet",
    "BackupMade",
    "Calibrated",
    "DrillAnswered",
    "DrillPassed",
    "Event",
    "GridSet",
    "HandWished",
    "HintTaken",
    "IdeaNoted",
    "KeyChosen",
    "LineReopened",
    "LineSettled",
    "LineWritten",
    "LoggedEvent",
    "NoteChecked",
    "NoteRecord",
    "NoteWished",
    "PackOpened",
    "PieceChosen",
    "PieceFinished",
    "PieceSetAside",
    "PieceTakenUp",
    "PlayedSettled",
    "PlayedThrough",
    "ReplyOpened",
    "ReportShared",
    "RhythmMade",
    "SectionRecord",
    "SectionsSet",
    "SmallerAccepted",
    "StringTuned",
    "TakeKept",
    "TimeSpent",
    "TogetherSettled",
    "VoiceHeard",
]
