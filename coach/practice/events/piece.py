"""A piece as a whole: taken in hand, its grid, its sections, its key, its end."""

from dataclasses import dataclass
from fractions import Fraction
from typing import ClassVar

from coach.practice.events.lines import NoteRecord


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
class RhythmMade:
    """The order and the long and short notes of a section without beats were put into beats.

    ``melody`` and ``bass`` take the place of its lines, ``end`` that of its end; what follows moves along.
    ``quarters`` and ``seconds`` are the grid of the whole piece from now on.
    """

    kind: ClassVar[str] = "rhythm_made"
    version: ClassVar[int] = 1
    piece: str
    section: str
    melody: tuple[NoteRecord, ...]
    bass: tuple[NoteRecord, ...]
    end: Fraction
    quarters: tuple[Fraction, ...]
    seconds: tuple[float, ...]


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
