"""Everything that can be written into the log: a closed union of frozen values.

An event never changes once written. A new meaning gets a new ``version``, and `coach.practice.codec` keeps
reading the old ones. Times in ``_s`` are seconds of the recording or of practice, musical times are exact
fractions of a quarter note, ``midi`` is the sounding pitch.
"""

from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction
from typing import ClassVar

from coach.practice.stages import Stage

# --- the piece --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PieceChosen:
    """A piece was taken in hand. ``bundled`` names a piece that came with the app."""

    kind: ClassVar[str] = "piece_chosen"
    version: ClassVar[int] = 1
    piece: str
    title: str
    recording_sha256: str | None
    bundled: str | None = None


@dataclass(frozen=True, slots=True)
class PieceSetAside:
    """A piece was laid aside, with the player's sentence why; everything of it is kept."""

    kind: ClassVar[str] = "piece_set_aside"
    version: ClassVar[int] = 1
    piece: str
    reason: str


@dataclass(frozen=True, slots=True)
class PieceTakenUp:
    """A piece laid aside was taken in hand again."""

    kind: ClassVar[str] = "piece_taken_up"
    version: ClassVar[int] = 1
    piece: str


@dataclass(frozen=True, slots=True)
class GridSet:
    """The beat grid was found or corrected: anchors between quarters and seconds of the recording."""

    kind: ClassVar[str] = "grid_set"
    version: ClassVar[int] = 1
    piece: str
    meter: str
    pickup: Fraction
    quarters: tuple[Fraction, ...]
    seconds: tuple[float, ...]
    feel: str = "straight"
    """``straight``, ``swing``, ``triplet`` or ``free``."""


@dataclass(frozen=True, slots=True)
class SectionRecord:
    """A section in an event: from ``onset`` to ``end`` in quarters."""

    name: str
    onset: Fraction
    end: Fraction


@dataclass(frozen=True, slots=True)
class SectionsSet:
    """The piece was cut into sections."""

    kind: ClassVar[str] = "sections_set"
    version: ClassVar[int] = 1
    piece: str
    sections: tuple[SectionRecord, ...]


@dataclass(frozen=True, slots=True)
class KeyChosen:
    """Key, capo and registers that suit the guitar were chosen; the recording sounds shifted from now on."""

    kind: ClassVar[str] = "key_chosen"
    version: ClassVar[int] = 1
    piece: str
    key: str
    capo: int
    shift_semitones: int
    tuning_cents: float
    melody_octaves: int = 0
    bass_octaves: int = 0


# --- lines ------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class NoteRecord:
    """A note in an event; ``string`` and ``fret`` only where the player chose them."""

    onset: Fraction
    duration: Fraction
    midi: int
    string: int | None = None
    fret: int | None = None
    syllable: str | None = None


@dataclass(frozen=True, slots=True)
class LineWritten:
    """The notes of one line of a section, whole, after each change to it."""

    kind: ClassVar[str] = "line_written"
    version: ClassVar[int] = 1
    piece: str
    section: str
    line: str
    notes: tuple[NoteRecord, ...]
    by: str = "tap"
    """How the change came: ``tap``, ``sung``, ``played``, ``typed``, ``undo``, ``hint`` or ``teacher``."""


@dataclass(frozen=True, slots=True)
class NoteChecked:
    """The player asked whether a note is in the recording; holds no other pitch than the one asked."""

    kind: ClassVar[str] = "note_checked"
    version: ClassVar[int] = 1
    piece: str
    section: str
    line: str
    from_s: float
    to_s: float
    midi: int
    verdict: str
    nearby: str | None
    confidence: float


@dataclass(frozen=True, slots=True)
class HintTaken:
    """A step of the hint ladder was taken; ``midi`` is the player's own note."""

    kind: ClassVar[str] = "hint_taken"
    version: ClassVar[int] = 1
    piece: str
    section: str
    line: str
    from_s: float
    to_s: float
    midi: int
    step: str


@dataclass(frozen=True, slots=True)
class LineSettled:
    """A section's line is good enough for now; ``open_questions`` notes had no *heard*."""

    kind: ClassVar[str] = "line_settled"
    version: ClassVar[int] = 1
    piece: str
    section: str
    line: str
    open_questions: int = 0


@dataclass(frozen=True, slots=True)
class LineReopened:
    """A settled line is changed again; at most twice a line."""

    kind: ClassVar[str] = "line_reopened"
    version: ClassVar[int] = 1
    piece: str
    section: str
    line: str


@dataclass(frozen=True, slots=True)
class TogetherSettled:
    """Both lines of a section lie on the fretboard; ``changes`` are the sentences of what was changed."""

    kind: ClassVar[str] = "together_settled"
    version: ClassVar[int] = 1
    piece: str
    section: str
    changes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PlayedThrough:
    """A section, or the whole piece (``section`` is None), was played.

    ``part`` is ``thumb``, ``melody``, ``pinches`` or ``both``; without a listener ``right_share`` is None.
    """

    kind: ClassVar[str] = "played_through"
    version: ClassVar[int] = 1
    piece: str
    section: str | None
    part: str
    tempo_bpm: float
    right_share: float | None = None
    hardest_bar: int | None = None


@dataclass(frozen=True, slots=True)
class PlayedSettled:
    """A section is played well enough for now."""

    kind: ClassVar[str] = "played_settled"
    version: ClassVar[int] = 1
    piece: str
    section: str


@dataclass(frozen=True, slots=True)
class TakeKept:
    """One whole take was recorded and kept, as a file of the piece."""

    kind: ClassVar[str] = "take_kept"
    version: ClassVar[int] = 1
    piece: str
    file: str
    duration_s: float


@dataclass(frozen=True, slots=True)
class PieceFinished:
    """Every section is good enough and one whole take exists: done."""

    kind: ClassVar[str] = "piece_finished"
    version: ClassVar[int] = 1
    piece: str


@dataclass(frozen=True, slots=True)
class IdeaNoted:
    """An idea beyond today's scope went onto the next-time list."""

    kind: ClassVar[str] = "idea_noted"
    version: ClassVar[int] = 1
    piece: str
    text: str


# --- practice ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class DrillAnswered:
    """One drill was answered and graded."""

    kind: ClassVar[str] = "drill_answered"
    version: ClassVar[int] = 1
    drill: str
    skill: str
    level: int
    by: str
    seed: int
    right: bool
    credit: float
    cents: float | None
    answer_s: float | None
    word: str
    heard: tuple[int, ...] = ()
    piece: str | None = None


@dataclass(frozen=True, slots=True)
class DrillPassed:
    """The player let a drill pass (“I can't”), which is no fault."""

    kind: ClassVar[str] = "drill_passed"
    version: ClassVar[int] = 1
    drill: str
    skill: str
    level: int


@dataclass(frozen=True, slots=True)
class StringTuned:
    """A string came in tune, or was left at so many cents."""

    kind: ClassVar[str] = "string_tuned"
    version: ClassVar[int] = 1
    string: int
    cents: float


@dataclass(frozen=True, slots=True)
class VoiceHeard:
    """The comfortable range of the voice, found or widened (MIDI)."""

    kind: ClassVar[str] = "voice_heard"
    version: ClassVar[int] = 1
    lowest: int
    highest: int


@dataclass(frozen=True, slots=True)
class TimeSpent:
    """Practice time: ``activity`` is ``tune``, ``ear``, ``piece`` or ``rest``."""

    kind: ClassVar[str] = "time_spent"
    version: ClassVar[int] = 1
    activity: str
    seconds: float
    piece: str | None = None
    section: str | None = None
    stage: Stage | None = None


@dataclass(frozen=True, slots=True)
class Calibrated:
    """The round trip of the sound device was measured after opening it."""

    kind: ClassVar[str] = "calibrated"
    version: ClassVar[int] = 1
    device: str
    round_trip_ms: float


@dataclass(frozen=True, slots=True)
class AimSet:
    """The day by which the player would like to finish; None takes the aim away."""

    kind: ClassVar[str] = "aim_set"
    version: ClassVar[int] = 1
    piece: str
    day: date | None


@dataclass(frozen=True, slots=True)
class SmallerAccepted:
    """A smaller piece of work was accepted so that the aim can be met."""

    kind: ClassVar[str] = "smaller_accepted"
    version: ClassVar[int] = 1
    piece: str
    proposal: str
    dropped_sections: tuple[str, ...] = ()


# --- teacher and safety -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PackOpened:
    """A teacher's pack was opened."""

    kind: ClassVar[str] = "pack_opened"
    version: ClassVar[int] = 1
    piece: str
    title: str
    sha256: str


@dataclass(frozen=True, slots=True)
class ReplyOpened:
    """A teacher's reply was opened: a word, a corrected note, a bar less, one more change."""

    kind: ClassVar[str] = "reply_opened"
    version: ClassVar[int] = 1
    piece: str
    word: str
    corrected: tuple[NoteRecord, ...] = ()
    corrected_line: str | None = None
    dropped_sections: tuple[str, ...] = ()
    extra_reopenings: int = 0


@dataclass(frozen=True, slots=True)
class ReportShared:
    """A report was written for the teacher; ``with_takes`` only by the player's own tick."""

    kind: ClassVar[str] = "report_shared"
    version: ClassVar[int] = 1
    since: date | None
    with_takes: bool = False


@dataclass(frozen=True, slots=True)
class BackupMade:
    """A back-up file was written."""

    kind: ClassVar[str] = "backup_made"
    version: ClassVar[int] = 1
    sha256: str


Event = (
    PieceChosen
    | PieceSetAside
    | PieceTakenUp
    | GridSet
    | SectionsSet
    | KeyChosen
    | LineWritten
    | NoteChecked
    | HintTaken
    | LineSettled
    | LineReopened
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
