"""Nothing the workbench shows or logs holds a pitch that the player did not sound, tap, type or ask to see.

Checked over the types of the log and of the views, and over random work at a bench whose truth is known.
"""

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from enum import Enum
from fractions import Fraction
from typing import Any, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.notation import LineKind
from coach.pieces.hints import HintStep
from coach.pieces.verdicts import Verdict
from coach.practice.events import Event as AnyEvent
from coach.practice.events import HintTaken, LineWritten, LoggedEvent, NoteChecked, RhythmMade
from coach.ui.presenters.drawn import StripView
from coach.ui.presenters.note_work import NoteWork
from coach.ui.presenters.workbench import WorkbenchPresenter
from coach.ui.presenters.workbench_view import LikelyNote, WorkbenchView
from tests.ui.bench_room import BenchRoom, opened

STANDARD = (40, 45, 50, 55, 59, 64)
TRUE_NAMES = ("C♯", "D♭")
TRUE_CLASS = 1
"""The recording holds D flat everywhere: no open string, no natural note, not in the key of C."""
TRUTHS = {LineKind.MELODY: 61, LineKind.BASS: 37}
PITCHED = {"midi", "asked_midi", "pitch", "notes", "target", "targets", "heard", "name"}
WORK_EVENTS = {NoteChecked: {"midi"}, HintTaken: {"midi"}, LineWritten: {"notes"}}
"""Where the events of a line hold pitches: each is the player's own."""


def texts(value: object) -> Iterator[str]:
    """All strings within a value."""
    if isinstance(value, Enum):
        return
    if isinstance(value, str):
        yield value
    elif is_dataclass(value):
        for each in fields(value):
            yield from texts(getattr(value, each.name))
    elif isinstance(value, tuple | list):
        for each in value:
            yield from texts(each)


def neck_classes(view: WorkbenchView) -> set[int]:
    """Pitch classes of all places that the neck marks."""
    marked = [(note.string, note.fret) for note in view.neck.notes]
    marked += [(place.string, place.fret) for place in view.neck.places]
    found = {(STANDARD[6 - string] + view.neck.capo + fret) % 12 for string, fret in marked}
    return found if view.keys.shown is None else found | {view.keys.shown % 12}


def logged_classes(logged: LoggedEvent) -> set[int]:
    match logged.event:
        case NoteChecked(midi=midi) | HintTaken(midi=midi):
            return {midi % 12}
        case LineWritten(notes=notes):
            return {note.midi % 12 for note in notes}
        case RhythmMade(melody=melody, bass=bass):
            return {note.midi % 12 for note in (*melody, *bass)}
        case _:
            return set()


# --- types ------------------------------------------------------------------------------------------------


def test_events_of_a_line_hold_no_other_pitch_than_the_players() -> None:
    lines = [kind for kind in get_args(AnyEvent) if any(each.name == "line" for each in fields(kind))]
    assert set(WORK_EVENTS) <= set(lines)
    for kind in lines:
        assert {each.name for each in fields(kind)} & PITCHED == WORK_EVENTS.get(kind, set()), kind


def test_an_answer_and_a_suggested_time_hold_no_pitch() -> None:
    assert {each.name for each in fields(Verdict)} & PITCHED == {"midi"}  # the one that was asked about
    slot = next(each for each in fields(StripView) if each.name == "slots")
    assert slot.type == tuple[tuple[LineKind, Fraction], ...]
    assert {each.name for each in fields(WorkbenchView)} & PITCHED == set()
    assert {each.name for each in fields(LikelyNote)} & PITCHED == {"midi", "name"}  # from theory alone


# --- work -------------------------------------------------------------------------------------------------

others = st.integers(36, 84).filter(lambda midi: midi % 12 != TRUE_CLASS)
"""Mostly the player is wrong, as work that ends with the true note has nothing more to hide."""
midis = st.one_of(others, others, others, st.integers(36, 84))
on_the_neck = st.tuples(st.integers(1, 6), st.integers(0, 12)).filter(
    lambda at: (STANDARD[6 - at[0]] + at[1]) % 12 != TRUE_CLASS
)
places = st.integers(0, 31).map(lambda half: Fraction(half, 2))
actions = st.one_of(
    st.tuples(st.just("hear"), midis),
    st.tuples(st.just("try"), midis),
    st.tuples(st.just("tap"), on_the_neck),
    st.tuples(st.just("letter"), st.sampled_from("ABCDEFG")),
    st.tuples(st.just("shift"), st.sampled_from([-1, 1])),
    st.tuples(st.just("octave"), st.sampled_from([-1, 1])),
    st.tuples(st.just("choose"), places),
    st.tuples(st.sampled_from(["act", "act", "act", "hint", "hint", "hint", "check", "check_all", "undo"])),
    st.tuples(st.sampled_from(["redo", "remove", "settle", "likely", "play", "move", "longer", "again"])),
)


class Player:
    """Works at random, and knows which notes are the player's own."""

    def __init__(self, presenter: WorkbenchPresenter, room: BenchRoom) -> None:
        self.presenter, self.room = presenter, room
        self.own = False

    def do(self, action: tuple[Any, ...]) -> None:
        presenter, work = self.presenter, self.presenter.work
        match action:
            case ("hear", midi):
                self._mine(midi)
                work(lambda note: note.hear(midi))
            case ("try", midi):
                self._mine(midi)
                work(lambda note: note.propose(midi))
                presenter.act()
                work(NoteWork.check)
                presenter.choose(presenter._kind, presenter._work.chosen)
            case ("tap", (string, fret)):
                self._mine(STANDARD[6 - string] + fret)
                presenter.tap(string, fret)
            case ("letter", letter):
                presenter.letter(letter)
            case ("shift", by):
                now = presenter._work._now
                self._mine(now + by if now is not None else 0)
                work(lambda note: note.shift(by))
            case ("octave", by):
                work(lambda note: note.octave(by))
            case ("choose", onset):
                presenter.choose(presenter._kind, min(onset, Fraction(31, 2)))
            case (word,):
                self._plain(word)

    def _plain(self, word: str) -> None:
        presenter = self.presenter
        changes = {
            "hint": NoteWork.hint,
            "check": NoteWork.check,
            "undo": NoteWork.undo,
            "redo": NoteWork.redo,
            "remove": NoteWork.remove,
            "move": lambda note: note.move(1),
            "longer": lambda note: note.lengthen(1),
        }
        others = {
            "act": presenter.act,
            "settle": presenter.settle,
            "likely": presenter.show_likely,
            "play": presenter.play_or_stop,
            "again": presenter.opened,
            "check_all": self._check_all,
        }
        if word in changes:
            presenter.work(changes[word])
        else:
            others[word]()

    def _check_all(self) -> None:
        self.presenter.check_all()
        for _ in range(5):
            self.presenter.look_up()

    def _mine(self, midi: int) -> None:
        self.own = self.own or midi % 12 == TRUE_CLASS

    @property
    def may_know(self) -> bool:
        """Whether the true note was the player's own, or shown after a yes."""
        shown = any(hint.step == HintStep.REVEAL.value for hint in self.room.events(HintTaken))
        return self.own or shown


@pytest.mark.parametrize("kind", LineKind)
@given(work=st.lists(actions, min_size=3, max_size=40))
@settings(max_examples=150, deadline=None)
def test_no_view_and_no_event_tells_the_note(kind: LineKind, work: list[tuple[Any, ...]]) -> None:
    room = BenchRoom()
    shown: list[WorkbenchView] = []
    with pytest.MonkeyPatch.context() as patch:
        presenter = opened(room, patch, kind, truth=TRUTHS[kind])
        presenter.watch(lambda view: shown.append(view.value) if hasattr(view, "value") else None)
        player = Player(presenter, room)
        for action in work:
            shown.clear()
            player.do(action)
            if player.may_know:
                return
            for view in shown:
                assert not [text for text in texts(view) if any(name in text for name in TRUE_NAMES)]
                assert TRUE_CLASS not in neck_classes(view)
            assert all(TRUE_CLASS not in logged_classes(each) for each in room.log.logged)


def test_the_watch_sees_a_note_that_is_told(monkeypatch: Any) -> None:
    """The check itself: after a yes the name is found in what is shown."""
    room = BenchRoom()
    presenter = opened(room, monkeypatch)
    for action in (("tap", (1, 3)), ("act",), ("act",), ("hint",), ("hint",), ("hint",)):
        Player(presenter, room).do(action)
    assert not any(name in text for text in texts(presenter.view) for name in TRUE_NAMES)
    Player(presenter, room).do(("hint",))
    assert any(name in text for text in texts(presenter.view) for name in TRUE_NAMES)
