"""How far one piece is: its sections, and each section's four stages."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from fractions import Fraction

from coach.music.meter import Meter
from coach.practice.events import GridSet, HandWished, KeyChosen, NoteRecord
from coach.practice.stages import SECTION_STAGES, Stage

FREE = "free"
"""The feel of a grid without beats."""
MOST_REOPENINGS = 2
"""How often a settled line may be changed again (the product's own rule)."""


MOST_WISHED = 20
"""So many steps of what the player wanted of the hand can be taken back. From no source."""


class Cell(StrEnum):
    """One section x stage of the two-line map."""

    EMPTY = "empty"
    BEGUN = "begun"
    SETTLED = "settled"


@dataclass(frozen=True, slots=True)
class LineState:
    """One line of one section: its notes as last written, and what is known about them."""

    cell: Cell = Cell.EMPTY
    notes: tuple[NoteRecord, ...] = ()
    reopenings: int = 0
    open_questions: int = 0
    """Notes of the settled line that were never *heard* by a check."""
    shift: int = 0
    """Semitones from the recording's own pitch to that of the notes: the key's shift and the register."""


@dataclass(frozen=True, slots=True)
class SectionState:
    """One section: from ``onset`` to ``end`` in quarters, its lines, stages, time and checks.

    Parameters
    ----------
    changes
        Sentences of what was changed so that the hand can play it.
    wished
        What the player wanted kept on the neck, step by step; the last one holds.
    seconds
        Practice time spent so far, by stage.
    checks, hints
        How often a note was asked and a hint taken, over both lines.
    begun_on
        First day on which any of its stages was touched.
    touched_on
        Last such day.
    hardest_bar
        As the last play-through of it named it; before one, the bar that asks most of the left hand.
    right_share
        Of the last play-through with both lines that was listened to, 0 to 1.
    counted
        In a piece without beats: whether its notes were put into beats.
    once_good_enough
        Whether all its stages were settled at some time, though a line may have been reopened since.
    """

    name: str
    onset: Fraction
    end: Fraction
    melody: LineState = LineState()
    bass: LineState = LineState()
    together: Cell = Cell.EMPTY
    played: Cell = Cell.EMPTY
    changes: tuple[str, ...] = ()
    wished: tuple[HandWished, ...] = ()
    seconds: Mapping[Stage, float] = field(default_factory=dict)
    checks: int = 0
    hints: int = 0
    begun_on: date | None = None
    touched_on: date | None = None
    hardest_bar: int | None = None
    right_share: float | None = None
    play_throughs: int = 0
    once_good_enough: bool = False
    counted: bool = False

    def line(self, name: str) -> LineState:
        """``melody`` or ``bass``; ``ValueError`` for another word."""
        if name not in {"melody", "bass"}:
            raise ValueError(f"no such line: {name!r}")
        return self.melody if name == "melody" else self.bass

    def cell(self, stage: Stage) -> Cell:
        """How far a stage is; ``ValueError`` for CHOOSE, which concerns the whole piece."""
        match stage:
            case Stage.MELODY:
                return self.melody.cell
            case Stage.BASS:
                return self.bass.cell
            case Stage.TOGETHER:
                return self.together
            case Stage.PLAYED:
                return self.played
            case Stage.CHOOSE:
                raise ValueError("choosing is not a stage of a section")

    @property
    def begun(self) -> bool:
        """Whether anything of it was touched."""
        return any(self.cell(stage) is not Cell.EMPTY for stage in SECTION_STAGES)

    @property
    def good_enough(self) -> bool:
        """Whether all four stages are settled."""
        return all(self.cell(stage) is Cell.SETTLED for stage in SECTION_STAGES)

    @property
    def next_stage(self) -> Stage | None:
        """The first stage that is not settled."""
        return next((stage for stage in SECTION_STAGES if self.cell(stage) is not Cell.SETTLED), None)

    def bars(self, meter: Meter) -> float:
        """Length in bars; an upbeat counts as the part of a bar that it is."""
        return float((self.end - self.onset) / meter.bar)


@dataclass(frozen=True, slots=True)
class Take:
    """A whole take that was kept."""

    file: str
    duration_s: float


@dataclass(frozen=True, slots=True)
class Milestone:
    """A stage of a section was settled, on a day; again after a reopening."""

    section: str
    stage: Stage
    day: date


@dataclass(frozen=True, slots=True)
class PieceState:
    """One piece: everything that was done with it.

    Parameters
    ----------
    grid, key
        The events that set them last.
    dropped
        Sections that were given up for a smaller piece; their notes are kept.
    extra_reopenings
        Granted by the teacher, over the two of every line.
    hardest_bar
        As the last play-through of the whole piece named it, gone once a section was played since.
    ending_s
        Seconds on the piece as a whole since every section is good enough: for joining them and the take.
    words
        The teacher's words, in order.
    """

    piece: str
    title: str
    chosen_on: date
    recording_sha256: str | None = None
    bundled: str | None = None
    grid: GridSet | None = None
    key: KeyChosen | None = None
    sections: tuple[SectionState, ...] = ()
    dropped: tuple[SectionState, ...] = ()
    ideas: tuple[str, ...] = ()
    takes: tuple[Take, ...] = ()
    aim: date | None = None
    extra_reopenings: int = 0
    accepted: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    hardest_bar: int | None = None
    set_aside_on: date | None = None
    set_aside_reason: str | None = None
    finished_on: date | None = None
    seconds: float = 0.0
    ending_s: float = 0.0
    first_worked_on: date | None = None
    milestones: tuple[Milestone, ...] = ()

    @property
    def meter(self) -> Meter:
        """As the grid has it; 4/4 before there is one."""
        return Meter.parse(self.grid.meter) if self.grid is not None else Meter(4, 4)

    @property
    def pickup(self) -> Fraction:
        """Length of the upbeat in quarters."""
        return self.grid.pickup if self.grid is not None else Fraction(0)

    @property
    def without_beats(self) -> bool:
        """Whether the recording has no steady beat: a quarter of its grid is a second, and no beat."""
        return self.grid is not None and self.grid.feel == FREE

    def free(self, section: str) -> bool:
        """Whether a section holds order and long or short notes alone: not put into beats yet."""
        state = self.section(section)
        return self.without_beats and state is not None and not state.counted

    def shift(self, line: str) -> int:
        """Semitones from the recording's own pitch to that of a line: the key's shift and the register."""
        if self.key is None:
            return 0
        octaves = self.key.melody_octaves if line == "melody" else self.key.bass_octaves
        return self.key.shift_semitones + 12 * octaves

    @property
    def most_reopenings(self) -> int:
        """How often a settled line of this piece may be changed again."""
        return MOST_REOPENINGS + self.extra_reopenings

    def section(self, name: str | None) -> SectionState | None:
        """A section that is worked on, by its name."""
        return next((section for section in self.sections if section.name == name), None)

    @property
    def all_good_enough(self) -> bool:
        """Whether there are sections and every one is good enough."""
        return bool(self.sections) and all(section.good_enough for section in self.sections)

    @property
    def next_section(self) -> SectionState | None:
        """Where the next step lies: a begun section before a new one, else the first that is not done."""
        open_sections = [section for section in self.sections if not section.good_enough]
        return next((section for section in open_sections if section.begun), next(iter(open_sections), None))

    @property
    def bars(self) -> float:
        """Bars of all sections that are worked on."""
        return sum(section.bars(self.meter) for section in self.sections)

    @property
    def notes_found(self) -> int:
        """Notes written so far in both lines."""
        return sum(len(section.melody.notes) + len(section.bass.notes) for section in self.sections)
