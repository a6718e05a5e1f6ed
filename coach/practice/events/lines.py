"""Writing the lines of a section, and playing them."""

from dataclasses import dataclass
from fractions import Fraction
from typing import ClassVar


@dataclass(frozen=True, slots=True)
class NoteRecord:
    """A note in an event.

    ``string`` and ``fret`` only where the player chose them; ``finger`` (1 to 4, none on an open string) once
    the lines were settled on the neck, so that a sheet shows just what was settled. ``long`` only in a piece
    without beats, until its order is put into beats.
    """

    onset: Fraction
    duration: Fraction
    midi: int
    string: int | None = None
    fret: int | None = None
    syllable: str | None = None
    finger: int | None = None
    long: bool | None = None


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
class NoteWished:
    """What the player wants of one note of a line: a place (string and fret), a finger (1 to 4), or both."""

    line: str
    onset: Fraction
    string: int | None = None
    fret: int | None = None
    finger: int | None = None


@dataclass(frozen=True, slots=True)
class HandWished:
    """What the player wants kept when a section is fingered, whole, after each change to it.

    ``below_fret`` counts from the capo; ``by`` is ``choice``, ``release`` or ``undo``.
    """

    kind: ClassVar[str] = "hand_wished"
    version: ClassVar[int] = 1
    piece: str
    section: str
    notes: tuple[NoteWished, ...] = ()
    below_fret: int | None = None
    no_barre: bool = False
    by: str = "choice"


@dataclass(frozen=True, slots=True)
class TogetherSettled:
    """Both lines of a section lie on the fretboard; ``changes`` are the sentences of what was changed.

    ``hardest_bar`` is the bar that asks most of the left hand; ``None`` where all are easy.
    """

    kind: ClassVar[str] = "together_settled"
    version: ClassVar[int] = 1
    piece: str
    section: str
    changes: tuple[str, ...] = ()
    hardest_bar: int | None = None


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
