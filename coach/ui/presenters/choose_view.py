"""What the four decisions of choosing a piece show, and their words."""

from dataclasses import dataclass
from datetime import date
from enum import Enum

from coach.pieces.beat_marks import BeatMarks, nearest
from coach.pieces.sections import BarRange
from coach.practice.piece_state import PieceState
from coach.sessions.piece.bringing_in import BundledChoice
from coach.sessions.survey import NOTHING_SOUNDS, Survey
from coach.ui.presenters.beat_view import BeatView
from coach.ui.presenters.days import day_words
from coach.ui.presenters.drawn import Tile
from coach.ui.presenters.piece_standing import standing_of

FEWEST_BEATS = 8
"""With fewer no beat was heard."""
NEARLY_TUNED_CENTS = 5.0
"""The tuner's own tolerance for a string."""


WITHOUT_BEATS = "It has no steady beat, so a bar stands for four seconds here."


class Decision(Enum):
    """Which of the four decisions is open."""

    RECORDING = "recording"
    LISTEN = "listen"
    BEAT = "beat"
    BARS = "bars"


@dataclass(frozen=True, slots=True)
class Aside:
    """A piece that was laid aside: where it stands, and why it was laid aside."""

    piece: str
    title: str
    words: str


@dataclass(frozen=True, slots=True)
class ChooseView:
    """One decision.

    Parameters
    ----------
    offered
        Bundled pieces, at the first decision.
    aside
        Pieces that were laid aside, at the first decision.
    facts
        What the first listen found.
    beat
        The beat as it is being put right, at the third decision.
    bars
        Numbers of bars to choose from, and the one chosen.
    tiles
        All bars there may be, the first of each section named.
    sections
        The sections in words.
    """

    decision: Decision
    sentence: str
    action: str
    offered: tuple[BundledChoice, ...] = ()
    aside: tuple[Aside, ...] = ()
    facts: tuple[str, ...] = ()
    beat: BeatView | None = None
    bars: tuple[int, ...] = ()
    chosen_bars: int = 8
    tiles: tuple[Tile, ...] = ()
    sections: tuple[str, ...] = ()
    said: str = ""
    second: str = ""


ADVICE_WORDS = {
    "good first piece": "a good first piece",
    "possible": "possible as a first piece",
    "later": "better kept for later",
}


def laid_aside(piece: PieceState, today: date) -> Aside:
    """A piece that was laid aside, in words."""
    words = [standing_of(piece)]
    if piece.set_aside_on is not None:
        reason = f": “{piece.set_aside_reason}”" if piece.set_aside_reason else "."
        words.append(f"Laid aside on {day_words(piece.set_aside_on, today)}{reason}")
    return Aside(piece.piece, piece.title, " ".join(words))


def facts_of(heard: Survey) -> tuple[str, ...]:
    """What else the first listen found, in words; each thing is said once."""
    if NOTHING_SOUNDS in heard.reasons:
        return ()
    tuning = _tuning_words(heard.tuning_cents)
    if any("can check" in reason for reason in heard.reasons):
        return (tuning,)
    return (
        tuning,
        f"The app can check about {round(10 * heard.checkable_share)} in 10 of its notes for you.",
    )


def _tuning_words(cents: float) -> str:
    if abs(cents) < NEARLY_TUNED_CENTS:
        return "It is in tune with a tuned guitar."
    side = "higher" if cents > 0 else "lower"
    return f"It is {abs(cents):.0f} hundredths of a fret {side} than a tuned guitar; I play it in tune."


def marks_of(heard: Survey) -> BeatMarks | None:
    """The beat that the first listen found, ``None`` where it found none."""
    if len(heard.beats_s) < FEWEST_BEATS:
        return None
    one_s = heard.bars_s[0] if heard.bars_s else heard.beats_s[0]
    return BeatMarks(heard.beats_s, nearest(heard.beats_s, one_s))


def section_words(part: BarRange, *, upbeat: bool) -> str:
    """A section by its bars."""
    bars = f"bar {part.first}" if part.bars == 1 else f"bars {part.first} to {part.last}"
    return f"{part.name}: {'its upbeat and ' if upbeat else ''}{bars}"
