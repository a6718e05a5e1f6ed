"""A graded take as it is shown: bar by bar, each note left or right of its beat."""

from dataclasses import dataclass
from math import ceil

from coach.notation import Arrangement, LineKind
from coach.pieces.played import PlayedNote, PlayThrough, Result
from coach.pieces.playthrough_words import sentences


@dataclass(frozen=True, slots=True)
class PlayedMark:
    """A note: where it is written, in beats from the start of its bar, and how many beats off it came."""

    kind: LineKind
    at: float
    off: float
    result: Result


@dataclass(frozen=True, slots=True)
class PlayedBar:
    """A bar: its sentence, its beats, its notes; ``hardest`` names the bar to begin with next time."""

    number: int
    words: str
    beats: int
    marks: tuple[PlayedMark, ...]
    hardest: bool = False


def bars_of(played: PlayThrough, arrangement: Arrangement) -> tuple[PlayedBar, ...]:
    """All bars that hold notes; none where the take could not be followed."""
    if played.line is None:
        return ()
    beat = arrangement.meter.beat
    beat_s = float(beat) * played.line.quarter_s

    def mark(note: PlayedNote) -> PlayedMark:
        at = float((note.onset - arrangement.bar_start(note.bar)) / beat)
        return PlayedMark(note.line, at, (note.offset_s or 0.0) / beat_s, note.result)

    return tuple(
        PlayedBar(
            each.bar,
            each.words,
            arrangement.meter.beats if each.bar else ceil(arrangement.pickup / beat),
            tuple(mark(note) for note in played.of_bar(each.bar)),
            hardest=each.bar == played.hardest_bar,
        )
        for each in sentences(played)
    )
