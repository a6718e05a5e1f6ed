"""The smallest useful next step on the piece in hand: which section, which stage, which bars, how long."""

from dataclasses import dataclass, replace
from fractions import Fraction

from coach.practice.events import KeyChosen, NoteRecord
from coach.practice.fold_piece import with_section
from coach.practice.pace import Pace, sections_before
from coach.practice.piece_state import Cell, LineState, PieceState, SectionState
from coach.practice.progress import Progress
from coach.practice.stages import Stage

LEAST_MINUTES = 4
"""What is left of a day below this is too little to begin something new."""
MOST_STEPS = 3
"""On the piece, in one day: a plan to be taken in at a glance."""
SETTLE_MINUTES = 4
"""To hear a whole line once more and call it good enough. Our own assumption, no source."""
CHOOSE_MINUTES, TAKE_MINUTES = 6, 8
"""For choosing a piece or its key, and for a take of the whole. Our own assumptions, no source."""
FEWEST_NOTES_FIRST_DAY = 3
"""The first day is to end with something played (the product's own rule)."""


@dataclass(frozen=True, slots=True)
class WorkStep:
    """One step on the piece.

    Parameters
    ----------
    title
        What to do, short: “Bass of section C, first two bars”.
    minutes
        About how long it takes at the player's own pace; may be less or more than the day has.
    section, stage
        Where; ``section`` is None for what concerns the whole piece.
    bars
        First and last bar of it, counted in the piece from 1 (0 is the upbeat), where it is about some bars.
    task
        A word for programs: ``choose``, ``three_notes``, ``beat``, ``sections``, ``key``, ``find``,
        ``settle``, ``together``, ``play``, ``whole``, ``take`` or ``finish``.
    """

    title: str
    minutes: float
    section: str | None
    stage: Stage
    task: str
    bars: tuple[int, int] | None = None


def next_steps(progress: Progress, minutes: float, *, first_day: bool = False) -> tuple[WorkStep, ...]:
    """The next step on the piece in hand (or on getting one), and what follows while there are minutes left.

    Parameters
    ----------
    minutes
        What the day has for the piece; the first step is given even when it needs more.
    first_day
        The first day ends with three notes found, of whichever piece, whatever else waits.
    """
    found: list[WorkStep] = []
    left = minutes
    at = progress
    while not found or (left >= LEAST_MINUTES and len(found) < MOST_STEPS):
        step = _next_step(at, left, first_day=first_day)
        found.append(step)
        left -= step.minutes
        after = as_if_done(at.piece, step)
        if after is None:
            break
        at = replace(at, pieces={**at.pieces, after.piece: after})
    return tuple(found)


def _next_step(progress: Progress, minutes: float, *, first_day: bool) -> WorkStep:
    piece = progress.piece
    if piece is None:
        if not progress.pieces:
            return WorkStep("Find the first three notes of a tune", 10, None, Stage.CHOOSE, "three_notes")
        return WorkStep("Choose your next piece", CHOOSE_MINUTES, None, Stage.CHOOSE, "choose")
    found = max(each.notes_found for each in progress.pieces.values())
    if first_day and found < FEWEST_NOTES_FIRST_DAY:
        title = f"Find the first three notes of “{piece.title}”"
        first = piece.sections[0].name if piece.sections else None
        return WorkStep(title, 10, first, Stage.MELODY, "three_notes")
    section = piece.next_section
    if piece.grid is None or not piece.sections or section is None:
        return _of_whole_piece(piece)
    if piece.key is None and section.next_stage is not Stage.MELODY:
        return WorkStep("Choose a key that suits the guitar", CHOOSE_MINUTES, None, Stage.CHOOSE, "key")
    number = sections_before(progress, piece) + piece.sections.index(section) + 1
    return _Bench(piece, section, Pace.of(progress), number, minutes).step()


def as_if_done(piece: PieceState | None, step: WorkStep) -> PieceState | None:
    """The piece after a step that went as planned; ``None`` where nobody can know what it brings."""
    if piece is None:
        return None
    if step.task == "key":
        return replace(piece, key=KeyChosen(piece.piece, "C", 0, 0, 0.0))
    section = piece.section(step.section)
    if section is None:
        return None
    match step.task:
        case "find" if step.bars is not None:
            start = piece.pickup + (step.bars[1] - 1) * piece.meter.bar
            note = NoteRecord(max(start, section.onset), piece.meter.bar, 60)
            line = section.line(step.stage.value)
            return _with_line(piece, section, step.stage, replace(line, notes=(*line.notes, note)))
        case "settle":
            settled = replace(section.line(step.stage.value), cell=Cell.SETTLED)
            return _with_line(piece, section, step.stage, settled)
        case _:
            return None


def _with_line(piece: PieceState, section: SectionState, stage: Stage, line: LineState) -> PieceState:
    melody = stage is Stage.MELODY
    return with_section(piece, replace(section, melody=line) if melody else replace(section, bass=line))


def _of_whole_piece(piece: PieceState) -> WorkStep:
    if piece.grid is None:
        return WorkStep("Find the beat: hear it click", 4, None, Stage.CHOOSE, "beat")
    if not piece.sections:
        return WorkStep("Choose your bars and cut them into sections", 4, None, Stage.CHOOSE, "sections")
    return _ending(piece)


def _ending(piece: PieceState) -> WorkStep:
    if piece.takes:
        return WorkStep("Listen to your take, and call the piece done", 5, None, Stage.PLAYED, "finish")
    if piece.hardest_bar is not None:
        title = f"Bar {piece.hardest_bar} first, slowly, then the whole piece once"
        bars = (piece.hardest_bar, piece.hardest_bar)
        return WorkStep(title, TAKE_MINUTES, None, Stage.PLAYED, "whole", bars)
    return WorkStep("Play the whole piece and keep one take", TAKE_MINUTES, None, Stage.PLAYED, "take")


@dataclass(frozen=True, slots=True)
class _Bench:
    """What is needed to choose the step within one section."""

    piece: PieceState
    section: SectionState
    pace: Pace
    number: int
    minutes: float

    def step(self) -> WorkStep:
        match self.section.next_stage:
            case Stage.MELODY | Stage.BASS as stage:
                return self._line(stage)
            case Stage.TOGETHER:
                return self._together()
            case _:
                return self._play()

    @property
    def starts(self) -> list[Fraction]:
        """Where the section's bars start; an upbeat counts with the bar that follows it."""
        bar, pickup = self.piece.meter.bar, self.piece.pickup
        first = (self.section.onset - pickup) // bar
        starts = [self.section.onset]
        line = pickup + (first + 1) * bar
        # The part of a bar before the first bar line is an upbeat when it is shorter than half a bar.
        if line - self.section.onset < bar / 2:
            line += bar
        while line < self.section.end:
            starts.append(line)
            line += bar
        return starts

    def bar_number(self, index: int) -> int:
        """Number in the piece of the so-manieth bar of the section."""
        time = self.starts[index]
        bar = self.piece.meter.bar
        number = int((time - self.piece.pickup) // bar) + 1
        following = self.piece.pickup + number * bar
        return number + 1 if index == 0 and following - time < bar / 2 else number

    def _minutes_for(self, stage: Stage, bars: float) -> float:
        return max(float(LEAST_MINUTES), self.pace.minutes_a_bar(stage, self.number) * bars)

    def _line(self, stage: Stage) -> WorkStep:
        line = self.section.line(stage.value)
        name = f"{stage.value.capitalize()} of section {self.section.name}"
        first = self._first_open(line)
        count = len(self.starts)
        if first is None:
            title = f"{name}: hear it through, and call it good enough"
            return WorkStep(title, SETTLE_MINUTES, self.section.name, stage, "settle")
        fit = int(self.minutes / self.pace.minutes_a_bar(stage, self.number))
        taken = min(max(1, fit), count - first)
        last = first + taken - 1
        title = name if taken == count else f"{name}, {_bars_in_words(first, last, count)}"
        bars = (self.bar_number(first), self.bar_number(last))
        return WorkStep(title, self._minutes_for(stage, taken), self.section.name, stage, "find", bars)

    def _first_open(self, line: LineState) -> int | None:
        """First bar of the section that is not found yet; ``None`` if notes reach the last bar."""
        starts = self.starts
        if not line.notes:
            return 0
        last = max(line.notes, key=lambda note: note.onset)
        reached = max(index for index, start in enumerate(starts) if start <= last.onset or index == 0)
        if reached + 1 >= len(starts):
            return None
        # A melody bar with an empty beat at its end is still being worked on; a bass bar may hold one note.
        open_yet = starts[reached + 1] - (last.onset + last.duration) >= self.piece.meter.beat
        return reached if open_yet and line is self.section.melody else reached + 1

    def _together(self) -> WorkStep:
        minutes = min(self._minutes_for(Stage.TOGETHER, len(self.starts)), max(self.minutes, LEAST_MINUTES))
        title = f"Section {self.section.name}: both lines under the hand"
        return WorkStep(title, minutes, self.section.name, Stage.TOGETHER, "together")

    def _play(self) -> WorkStep:
        name, hardest = self.section.name, self.section.hardest_bar
        bars = None
        if self.section.played is Cell.EMPTY and hardest is not None:
            title = f"Section {name}: bar {hardest} first, the hardest for the hand; then thumb, melody, both"
            bars = (hardest, hardest)
        elif self.section.played is Cell.EMPTY:
            title = f"Section {name}: thumb alone, melody alone, then both, slowly"
        elif hardest is not None:
            title, bars = f"Section {name}: bar {hardest} first, then all of it", (hardest, hardest)
        else:
            title = f"Section {name}: both lines, a little faster"
        minutes = max(self.minutes, LEAST_MINUTES)
        return WorkStep(title, minutes, name, Stage.PLAYED, "play", bars)


_COUNTS = ("", "", "two ", "three ", "four ", "five ", "six ", "seven ", "eight ")


def _bars_in_words(first: int, last: int, count: int) -> str:
    """Bars of a section (from 0) in words: “first two bars”, “bar 3”, “bars 3 and 4”, “last bar”."""
    taken = last - first + 1
    bars = "bar" if taken == 1 else "bars"
    if first == 0:
        return f"first {_COUNTS[taken]}{bars}"
    if last == count - 1:
        return f"last {_COUNTS[taken]}{bars}"
    if taken == 1:
        return f"bar {first + 1}"
    return f"bars {first + 1} {'and' if taken == 2 else 'to'} {last + 1}"
