"""What the workbench shows, as one frozen value."""

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from coach.notation import LineKind
from coach.pieces.capture import Feel
from coach.pieces.hints import HintStep
from coach.sessions.ports import Emphasis
from coach.ui.presenters.drawn import KeysView, Loop, NeckView, StripView, Tile

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


FEEL_WORDS = {
    Feel.STRAIGHT: "Straight: beats in halves",
    Feel.SWING: "Swing: long, short",
    Feel.TRIPLET: "Triplets: beats in thirds",
}


class Step(Enum):
    """Which small step the workbench leads to now."""

    HEAR = "hear"
    FIND = "find"
    PLACE = "place"
    ASK = "ask"
    GO_ON = "go on"
    ASK_ALL = "ask all"
    """Notes reach the end of the section, and not all were asked about."""
    ENOUGH = "enough"
    """Notes reach the end, and all of them are heard."""
    SETTLED = "settled"


TRAIL = ("Hear and hum", "Find it on the neck", "Place it")
"""The three small steps, as read."""
TRAIL_PLACE = {
    Step.HEAR: 0,
    Step.FIND: 1,
    Step.PLACE: 2,
    Step.ASK: 2,
    Step.GO_ON: 2,
    Step.ASK_ALL: 2,
    Step.ENOUGH: 2,
    Step.SETTLED: None,
}
SENTENCES = {
    Step.HEAR: "Listen, and hum the note until your voice agrees with it.",
    Step.FIND: "Now find it on the neck: play it, or tap it.",
    Step.PLACE: "Is this the note you mean? Then place it.",
    Step.ASK: "Ask the recording whether it is the one.",
    Step.GO_ON: "Choose the next place on the strip, or try another note here.",
    Step.ASK_ALL: "You have notes to the end: ask the recording about all of them.",
    Step.ENOUGH: "All of them are heard, to the end: call it good enough.",
    Step.SETTLED: "This line is good enough for now.",
}
WITHOUT_SINGING = "Listen, then find the note: play it, or tap it on the neck."
CHECK_ALL = "Check all"
ACTIONS = {
    Step.FIND: "Place it",
    Step.PLACE: "Place it",
    Step.ASK: "Check",
    Step.HEAR: "",
    Step.GO_ON: "",
    Step.ASK_ALL: CHECK_ALL,
    Step.ENOUGH: "Good enough for now",
    Step.SETTLED: "",
}
"""Words of the big button; empty: it plays and stops the loop."""
HINT_WORDS = {
    HintStep.DIRECTION: "Hint: higher or lower?",
    HintStep.NEAR: "Hint: is it near?",
    HintStep.REVEAL: "Show me the note",
}


def stage_of(
    *,
    settled: bool,
    candidate: bool,
    hummed: bool,
    note: bool,
    asked: bool,
    full: bool = False,
    others: int = 0,
    unheard: int = 0,
) -> Step:
    """The small step that comes next.

    Parameters
    ----------
    full
        Whether notes reach the end of the section.
    others, unheard
        How many notes but the one at the chosen place were not asked about, and how many of all not heard.
    """
    if settled:
        return Step.SETTLED
    if candidate:
        return Step.FIND if hummed else Step.PLACE
    if full and others:
        return Step.ASK_ALL
    if full and not unheard:
        return Step.ENOUGH
    if note:
        return Step.GO_ON if asked else Step.ASK
    return Step.HEAR


@dataclass(frozen=True, slots=True)
class LikelyNote:
    """A bass note that the key makes likely: its name, what it is in the key, whether a main one."""

    midi: int
    name: str
    words: str
    main: bool


@dataclass(frozen=True, slots=True)
class SoundView:
    """How the loop sounds.

    Parameters
    ----------
    playing, holding
        Whether the loop sounds, and whether one moment is held.
    click, count_in
        Whether the beats click, and whether a bar is counted before the first time round.
    apart
        Whether the written line sounds on the right and the recording on the left.
    """

    speed: float = 0.7
    emphasis: Emphasis = Emphasis.ALL
    playing: bool = False
    holding: bool = False
    click: bool = False
    count_in: bool = False
    apart: bool = False


@dataclass(frozen=True, slots=True)
class WorkbenchView:
    """One line of one section at work.

    Parameters
    ----------
    title
        Such as “Section A: the tune”.
    sentence
        The one thing to do now.
    step
        The small step that the screen leads to.
    tiles, loop
        The bars, and which of them sound.
    strip
        The notes found so far; the place being worked on is chosen in it.
    neck
        The note in question on the neck.
    grid
        Finest time that a tap on the strip can mean, in quarters.
    said
        What was heard from the player, or what the recording answered; empty before that.
    action, second
        Words of the big button and of the quieter one.
    hint
        Words of the hint button, ``None`` while no hint is of use.
    confirming
        Whether it waits for a yes before it shows the note.
    listens
        Whether the microphone is open.
    phrase
        Whether a phrase is being taken.
    just_written
        Whether a phrase was written last: its octave may have to be put right.
    likely
        Bass notes that the key makes likely; ``None`` where there are none to be asked for, empty until
        they are.
    syllable
        Words under the note at the chosen place.
    feel
        How beats divide; ``None`` where the recording has none.
    free
        Whether notes are long or short, not in beats.
    long
        Whether the note at the chosen place is a long one; ``None`` where beats tell, or without one.
    """

    title: str
    kind: LineKind
    sentence: str
    tiles: tuple[Tile, ...]
    loop: Loop
    strip: StripView
    neck: NeckView
    keys: KeysView
    chosen: Fraction
    step: Step = Step.HEAR
    grid: Fraction = Fraction(1, 2)
    feel: Feel | None = Feel.STRAIGHT
    free: bool = False
    long: bool | None = None
    said: str = ""
    action: str = ""
    second: str = ""
    hint: str | None = None
    confirming: bool = False
    sound: SoundView = SoundView()
    listens: bool = False
    phrase: bool = False
    just_written: bool = False
    likely: tuple[LikelyNote, ...] | None = None
    syllable: str = ""
    can_undo: bool = False
    can_redo: bool = False
    has_note: bool = False
    any_notes: bool = False
    settled: bool = False

    @property
    def speed_words(self) -> str:
        """The speed as read: in words, with the per cent beside."""
        return speed_words(self.sound.speed)


def speed_words(speed: float) -> str:
    """A speed in words, with the per cent beside."""
    return f"{SPEED_WORDS[speed]}, {round(100 * speed)} %"
