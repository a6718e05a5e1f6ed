"""A graded take in words: one kind sentence a bar."""

from dataclasses import dataclass
from fractions import Fraction
from typing import assert_never

from coach.music.pitch import Pitch
from coach.notation.line import LineKind
from coach.pieces.played import PlayedNote, PlayThrough, Result

_MOST_NAMED = 2
"""More faults than these are counted, not told one by one."""
_LINE_WORDS = {LineKind.MELODY: "tune", LineKind.BASS: "bass"}
NOT_FOLLOWED = (
    "I could not lay this take beside the sheet: play it once more, a little slower, from its first note."
)


@dataclass(frozen=True, slots=True)
class BarSentence:
    """What is said about a bar; 0 is the upbeat."""

    bar: int
    words: str


def sentences(played: PlayThrough) -> tuple[BarSentence, ...]:
    """One sentence for every bar that holds notes."""
    return tuple(BarSentence(bar, _of_bar(bar, played.of_bar(bar))) for bar in played.bars)


def summary(played: PlayThrough, beat: Fraction) -> str:
    """The whole take in a sentence or two, the hardest bar named; ``beat``: the meter's, in quarters."""
    if played.line is None:
        return NOT_FOLLOWED
    right = sum(note.result is Result.RIGHT for note in played.notes)
    tempo = f"{played.line.tempo_bpm / float(beat):.0f} beats a minute"
    said = f"{right} of {len(played.notes)} notes were right, at {tempo}."
    hardest = played.hardest_bar
    return said if hardest is None else f"{said} Hardest: {_named(hardest)}."


def _of_bar(bar: int, notes: tuple[PlayedNote, ...]) -> str:
    faults = [note for note in notes if note.result is not Result.RIGHT]
    if not faults:
        count = {1: "its one note", 2: "both notes"}.get(len(notes), f"all {len(notes)} notes")
        return f"{_named(bar).capitalize()}: {count} right."
    said = [_fault(note) for note in faults[:_MOST_NAMED]]
    if len(faults) > _MOST_NAMED:
        more = len(faults) - _MOST_NAMED
        said.append(f"{more} more to look at" if more > 1 else "one more to look at")
    return f"{_named(bar).capitalize()}: {'; '.join(said)}."


def _named(bar: int) -> str:
    return f"bar {bar}" if bar else "the upbeat"


def _fault(note: PlayedNote) -> str:
    name, line = Pitch.from_midi(note.midi).name, _LINE_WORDS[note.line]
    match note.result:
        case Result.RIGHT:
            return f"{name} in the {line} was right"
        case Result.WRONG:
            heard = Pitch.from_midi(note.played_midi if note.played_midi is not None else note.midi).name
            return f"in the {line} {heard} sounded where {name} is written"
        case Result.EARLY:
            return f"{name} in the {line} came {_seconds(note)} s early"
        case Result.LATE:
            return f"{name} in the {line} came {_seconds(note)} s late"
        case Result.MISSING:
            return f"I did not hear {name} in the {line}"
    assert_never(note.result)


def _seconds(note: PlayedNote) -> str:
    return f"{abs(note.offset_s or 0.0):.2f}"
