"""What the Together screen shows, and its sentences."""

import re
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from coach.notation import Arrangement, LineKind
from coach.pieces.change_kinds import FREE, Change, ChangeKind
from coach.pieces.change_search import Proposal
from coach.sessions.piece.neck_exploring import Sight
from coach.ui.presenters.drawn import NeckView, StripView

THIRD_NOTE = "Two notes at once are the limit: a third one is on the list for next time."
LOOKING = "Looking for the smallest change"
NAMED_CHANGES = 3


class Tool(StrEnum):
    """Groups of controls, one open at a time."""

    STEPS = "steps"
    NOTE = "note"
    WAYS = "ways"
    WISHES = "wishes"
    HEAR = "hear"


TOOL_WORDS = {
    Tool.STEPS: "Step by step",
    Tool.NOTE: "This note",
    Tool.WAYS: "Ways to play",
    Tool.WISHES: "Your wishes",
    Tool.HEAR: "Hear it",
}


class Sounding(StrEnum):
    """What is heard."""

    NOTHING = ""
    WAY = "way"
    WRITTEN = "written"


@dataclass(frozen=True, slots=True)
class NoteChoice:
    """The note that is being asked about.

    Parameters
    ----------
    words
        What it is, where it lies, how it is played.
    kind, kinds
        Its line, and the lines that sound now.
    finger, fingers
        Its finger, ``None`` for an open string, and those that can press it there.
    """

    words: str
    kind: LineKind
    kinds: tuple[LineKind, ...]
    finger: int | None = None
    fingers: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class TogetherView:
    """Both lines at one moment.

    Parameters
    ----------
    sentence
        How the section can be played.
    moment
        Where the player is, and what the hand does there.
    bar
        How hard that bar is.
    action
        Words of the one action; empty where there is nothing to do.
    tool
        Which group of controls is open.
    note
        The note in question; filled for its group.
    ways, way
        The best ways to finger the lines shown, a sentence each; which one is shown, ``None`` for another.
    offers, offer
        Ways with changes, the smallest first; which one is shown.
    blocked
        Why the lines cannot be played as they are written.
    below_fret, no_barre
        The player's wishes for the whole section.
    reach
        How far the player's hand spans, in a word.
    kept
        Their wishes for single notes, each in words.
    clash
        Wishes that cannot be kept together, in words: one of them is to be let go of.
    """

    title: str
    sentence: str
    neck: NeckView
    strip: StripView
    moment: str
    bar: str = ""
    said: str = ""
    action: str = "Good enough for now"
    tool: Tool = Tool.STEPS
    note: NoteChoice | None = None
    ways: tuple[str, ...] = ()
    way: int | None = None
    offers: tuple[str, ...] = ()
    offer: int | None = None
    blocked: tuple[str, ...] = ()
    below_fret: int | None = None
    no_barre: bool = False
    reach: str = "small"
    kept: tuple[str, ...] = ()
    clash: tuple[str, ...] = ()
    can_take_back: bool = False
    sounding: Sounding = Sounding.NOTHING
    speed: float = 1.0


def sentence_of(sight: Sight) -> str:
    """How the section can be played, in a sentence."""
    if sight.shown is None:
        known = "no change within reach mends it" if sight.proven else "I have not looked at every change"
        return f"Your hand cannot play these lines as they are, and {known}."
    way = sight.shown.way
    if not way.changes:
        return "Your hand can play both lines as you wrote them."
    if way.price == FREE:
        return f"Your hand can play both lines, {_listed(way, way.arrangement)}. That costs nothing."
    if sight.agreed:
        return "With this change your hand can play both lines."
    which = "the least change" if sight.offer == 0 else "another change"
    return f"Not in reach as written. Shown: {which}."


def action_of(sight: Sight) -> str:
    """The one action."""
    if sight.shown is None:
        return ""
    return "Good enough for now" if sight.agreed else "Use this change"


def offer_words(way: Proposal) -> str:
    """A way with its changes in a sentence, and its price."""
    said = _listed(way, way.arrangement)
    price = f"Price: {float(way.price):g}." if way.price else "At no price."
    return f"{said[:1].upper()}{said[1:]}. {price}"


def beat_words(arrangement: Arrangement, time: Fraction) -> str:
    """Bar and beat of a musical time: ``Bar 2, beat 1 and 1/2``."""
    bar = arrangement.bar_of(time)
    whole, rest = divmod((time - arrangement.bar_start(bar)) / arrangement.meter.beat + 1, 1)
    beat = f"{whole} and {rest}" if rest else f"{whole}"
    return f"Bar {bar}, beat {beat}" if bar else f"Upbeat, beat {beat}"


def _listed(way: Proposal, arrangement: Arrangement) -> str:
    said = [_change(change, arrangement) for change in way.changes]
    more = f", and {len(said) - NAMED_CHANGES} more" if len(said) > NAMED_CHANGES else ""
    return ", ".join(said[:NAMED_CHANGES]) + more


_NAME = re.compile(r"\b([A-G])(b|#)(?=m?\d?\b)")
"""A note or key name with its sign in ASCII."""


def on_screen(words: str) -> str:
    """Words of the domain as the screen says them."""
    return _NAME.sub(_signed, words.replace("melody note", "tune's note").replace("melody", "tune"))


def _signed(name: re.Match[str]) -> str:
    return name[1] + {"b": "♭", "#": "♯"}[name[2]]


def _change(change: Change, arrangement: Arrangement) -> str:
    detail = on_screen(change.detail)
    if change.onset is None:
        return detail
    bar = arrangement.bar_of(change.onset)
    where = f"in bar {bar}" if bar else "in the upbeat"
    return f"{where} {'the bass ' if change.kind is ChangeKind.SHORTEN_BASS else ''}{detail}"
