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

ChoosingEvent = PieceSetAside | PieceTakenUp | GridSet | SectionsSet | RhythmMade | KeyChosen
"""What is decided about a whole piece."""
SectionEvent = (
    LineWritten
    | NoteChecked
    | HintTaken
    | LineSettled
    | LineReopened
    | HandWished
    | TogetherSettled
    | PlayedThrough
    | PlayedSettled
)
"""What is done in one section (a play-through only when it names one)."""
WholeEvent = TakeKept | PieceFinished | IdeaNoted | AimSet | SmallerAccepted | ReplyOpened
"""What else concerns a whole piece."""
DrillEvent = DrillAnswered | DrillPassed
MeasuredEvent = StringTuned | VoiceHeard | Calibrated
ExchangeEvent = PackOpened | ReportShared | BackupMade
Event = (
    PieceChosen
    | ChoosingEvent
    | SectionEvent
    | WholeEvent
    | DrillEvent
    | TimeSpent
    | MeasuredEvent
    | ExchangeEvent
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
    "ChoosingEvent",
    "DrillAnswered",
    "DrillEvent",
    "DrillPassed",
    "Event",
    "ExchangeEvent",
    "GridSet",
    "HandWished",
    "HintTaken",
    "IdeaNoted",
    "KeyChosen",
    "LineReopened",
    "LineSettled",
    "LineWritten",
    "LoggedEvent",
    "MeasuredEvent",
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
    "SectionEvent",
    "SectionRecord",
    "SectionsSet",
    "SmallerAccepted",
    "StringTuned",
    "TakeKept",
    "TimeSpent",
    "TogetherSettled",
    "VoiceHeard",
    "WholeEvent",
]
