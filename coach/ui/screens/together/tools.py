"""The groups of controls of the Together screen, one open at a time."""

from collections.abc import Callable
from typing import assert_never

from kivy.uix.widget import Widget

from coach.notation import LineKind
from coach.ui.presenters.piece_view import SCREEN_WORD
from coach.ui.presenters.together import TogetherPresenter
from coach.ui.presenters.together_view import Sounding, TogetherView, Tool
from coach.ui.presenters.workbench_view import SPEEDS, speed_words
from coach.ui.theme import Look
from coach.ui.widgets.buttons import Choice, Press, Weight
from coach.ui.widgets.layout import Card, Column, Flow
from coach.ui.widgets.strip import LineStrip
from coach.ui.widgets.text import Words, quiet, title

BELOW = (("0", "Any fret"), ("5", "Below fret 5"), ("7", "Below fret 7"))
BARRE = (("yes", "Barre, where it helps"), ("no", "No barre"))
FINGERS = {1: "1 first", 2: "2 second", 3: "3 third", 4: "4 little"}


def tool(look: Look, value: TogetherView, presenter: TogetherPresenter, strip: LineStrip) -> Widget:
    """The open group."""
    match value.tool:
        case Tool.STEPS:
            return strip
        case Tool.NOTE:
            return _note(look, value, presenter)
        case Tool.WAYS:
            return _ways(look, value, presenter)
        case Tool.WISHES:
            return _wishes(look, value, presenter)
        case Tool.HEAR:
            return _hear(look, value, presenter)
    assert_never(value.tool)


def contents(value: TogetherView) -> tuple[object, ...]:
    """What the open group shows: while this stays, so does the group."""
    match value.tool:
        case Tool.STEPS:
            return (value.tool,)
        case Tool.NOTE:
            return (value.tool, value.note, value.can_take_back)
        case Tool.WAYS:
            return (value.tool, value.ways, value.way, value.offers, value.offer, value.blocked,
                    value.can_take_back, value.clash, value.sounding)  # fmt: skip
        case Tool.WISHES:
            return (
                value.tool,
                value.below_fret,
                value.no_barre,
                value.can_take_back,
                value.kept,
                value.clash,
            )
        case Tool.HEAR:
            return (value.tool, value.sounding, value.speed)
    assert_never(value.tool)


def _note(look: Look, value: TogetherView, presenter: TogetherPresenter) -> Column:
    note = value.note
    if note is None:
        return Column(quiet(look, "No note sounds here."))
    column = Column(gap=1)
    if len(note.kinds) > 1:
        lines = [(kind.value, f"The {SCREEN_WORD[kind]}") for kind in LineKind if kind in note.kinds]
        column.add(Choice(look, lines, note.kind.value, presenter.choose_line))
    column.add(Words(look, note.words))
    if note.fingers:
        fingers = [(str(finger), FINGERS[finger]) for finger in note.fingers]
        finger = str(note.finger) if note.finger is not None else None
        column.add(
            quiet(look, "Press it with finger"), Choice(look, fingers, finger, presenter.choose_finger)
        )
    column.add(quiet(look, "Tap a hollow place, or drag the note there: the rest is worked out around it."))
    column.add(_back(look, presenter, can_take_back=value.can_take_back))
    return column


def _ways(look: Look, value: TogetherView, presenter: TogetherPresenter) -> Column:
    column = Column(gap=1.5)
    if value.blocked:
        reasons = [Words(look, reason) for reason in value.blocked[:3]]
        column.add(Card(look, title(look, "As written"), *reasons))
    if value.clash:
        column.add(_release(look, value, presenter))
    if value.offers:
        offers = [(str(index), words) for index, words in enumerate(value.offers)]
        chosen = None if value.offer is None else str(value.offer)
        column.add(quiet(look, "The smallest change first. Looking changes nothing."))
        column.add(Choice(look, offers, chosen, presenter.choose_offer, wide=True))
        column.add(_sounds(look, value, presenter))
    if value.ways:
        ways = [(str(index), words) for index, words in enumerate(value.ways)]
        chosen = None if value.way is None else str(value.way)
        column.add(quiet(look, "Ways for the hand, the easiest first"))
        column.add(Choice(look, ways, chosen, presenter.choose_way, wide=True))
    column.add(_back(look, presenter, can_take_back=value.can_take_back))
    return column


def _wishes(look: Look, value: TogetherView, presenter: TogetherPresenter) -> Column:
    below = str(value.below_fret or 0)
    barre = "no" if value.no_barre else "yes"
    column = Column(gap=1.5)
    if value.clash:
        column.add(_release(look, value, presenter))
        return column
    column.add(
        Choice(look, BELOW, below, presenter.wish_below), Choice(look, BARRE, barre, presenter.wish_barre)
    )
    if value.kept:
        column.add(quiet(look, "What you chose for single notes. Tap one to let go of it."))
        wishes = [(str(index), words[:1].upper() + words[1:]) for index, words in enumerate(value.kept)]
        column.add(Choice(look, wishes, None, presenter.let_go, wide=True))
    column.add(quiet(look, f"Your reach is {value.reach}. Set-up asks for it, under “Your hands”."))
    column.add(_back(look, presenter, can_take_back=value.can_take_back))
    return column


def _release(look: Look, value: TogetherView, presenter: TogetherPresenter) -> Choice:
    """One of the wishes that cannot be kept together is to go; or all stays as it was."""
    wishes = [(str(index), f"Let go of “{words}”") for index, words in enumerate(value.clash)]
    wishes += [] if value.offers else [("", "Leave it as it was")]
    return Choice(look, wishes, None, presenter.release, wide=True)


def _hear(look: Look, value: TogetherView, presenter: TogetherPresenter) -> Column:
    speeds = [(str(speed), speed_words(speed)) for speed in SPEEDS]
    return Column(
        _sounds(look, value, presenter),
        quiet(look, "Slower or faster, of the piece's own speed"),
        Choice(look, speeds, str(value.speed), presenter.set_speed),
        gap=1.5,
    )


def _sounds(look: Look, value: TogetherView, presenter: TogetherPresenter) -> Flow:
    """How it sounds before a change and after it."""

    def button(what: Sounding, words: str) -> Press:
        return Press(look, "Stop" if value.sounding is what else words, _hearing(presenter, what))

    return Flow(button(Sounding.WRITTEN, "Hear it as written"), button(Sounding.WAY, "Hear it this way"))


def _hearing(presenter: TogetherPresenter, what: Sounding) -> Callable[[], None]:
    return lambda: presenter.hear(what)


def _back(look: Look, presenter: TogetherPresenter, *, can_take_back: bool) -> Flow:
    back = Press(look, "Take it back", presenter.take_back, weight=Weight.QUIET)
    again = Press(look, "Easiest way again", presenter.forget_wishes, weight=Weight.QUIET)
    return Flow(back, again) if can_take_back else Flow(again)
