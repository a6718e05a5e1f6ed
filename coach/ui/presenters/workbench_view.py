"""What the workbench shows, as one frozen value."""

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from coach.notation import LineKind
from coach.pieces.hints import HintStep
from coach.sessions.ports import Emphasis
from coach.ui.presenters.drawn import Loop, NeckView, StripView, Tile

SPEEDS = (0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
SPEED_WORDS = {
    0.4: "very slow",
    0.5: "half",
    0.6: "slow",
    0.7: "slower",
    0.8: "easy",
    0.9: "nearly",
    1.0: "as it is",
}
EMPHASIS_WORDS = {
    Emphasis.ALL: "All",
    Emphasis.MELODY: "Tune louder",
    Emphasis.BASS: "Bass louder",
    Emphasis.BASS_RAISED: "Bass raised",
}


class Step(Enum):
    """Which small step the workbench leads to now."""

    HEAR = "hear"
    PLACE = "place"
    ASK = "ask"
    GO_ON = "go on"
    SETTLED = "settled"


SENTENCES = {
    Step.HEAR: "Listen, hum the note, then find it: play it, or tap it on the neck.",
    Step.PLACE: "Is this the note you mean? Then place it.",
    Step.ASK: "Ask the recording whether it is the one.",
    Step.GO_ON: "Choose the next place on the strip, or try another note here.",
    Step.SETTLED: "This line is good enough for now.",
}
ACTIONS = {Step.PLACE: "Place it", Step.ASK: "Check", Step.HEAR: "", Step.GO_ON: "", Step.SETTLED: ""}
"""Words of the big button; empty: it plays and stops the loop."""
HINT_WORDS = {
    HintStep.DIRECTION: "Hint: higher or lower?",
    HintStep.NEAR: "Hint: is it near?",
    HintStep.REVEAL: "Show me the note",
}


def stage_of(*, settled: bool, candidate: bool, note: bool, asked: bool) -> Step:
    """The small step that comes next."""
    if settled:
        return Step.SETTLED
    if candidate:
        return Step.PLACE
    if note:
        return Step.GO_ON if asked else Step.ASK
    return Step.HEAR


@dataclass(frozen=True, slots=True)
class WorkbenchView:
    """One line of one section at work.

    Parameters
    ----------
    title
        Such as “Section A: the tune”.
    sentence
        The one thing to do now.
    tiles, loop
        The bars, and which of them sound.
    strip
        The notes found so far; the place being worked on is chosen in it.
    neck
        The note in question on the neck.
    said
        What was heard from the player, or what the recording answered; empty before that.
    action, second
        Words of the big button and of the quieter one.
    hint
        Words of the hint button, ``None`` while no hint is of use.
    playing, holding
        Whether the loop sounds, and whether one moment is held.
    listens
        Whether the microphone is open.
    """

    title: str
    kind: LineKind
    sentence: str
    tiles: tuple[Tile, ...]
    loop: Loop
    strip: StripView
    neck: NeckView
    chosen: Fraction
    said: str = ""
    action: str = ""
    second: str = ""
    hint: str | None = None
    speed: float = 0.7
    emphasis: Emphasis = Emphasis.ALL
    playing: bool = False
    holding: bool = False
    listens: bool = False
    can_undo: bool = False
    can_redo: bool = False
    has_note: bool = False
    settled: bool = False
    reopenings_left: int = 2

    @property
    def speed_words(self) -> str:
        """The speed as read: in words, with the per cent beside."""
        return f"{SPEED_WORDS[self.speed]}, {round(100 * self.speed)} %"
