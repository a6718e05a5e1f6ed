# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""Drills: a real session in a scripted room; the page with real taps."""

from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from coach.drills.grade import Grade, Word
from coach.drills.kinds import AnswerForm, By, Rule
from coach.drills.prompt import ExpectedNote, Prompt
from coach.practice.events import DrillAnswered, DrillPassed
from coach.sessions.ports import StreamState
from coach.ui.presenters.drill import DrillPresenter, DrillView, Phase
from coach.ui.presenters.drill_words import result_words
from coach.ui.presenters.view import Empty, Missing, Ready
from tests.sessions.test_drill_session import prompt
from tests.ui.driver import RealWindow
from tests.ui.scripted_room import ScriptedRoom
from tests.ui.stage import Now, Went, a_context, went_to


@pytest.fixture
def room(tmp_path: Path) -> ScriptedRoom:
    return ScriptedRoom(tmp_path)


def started(room: ScriptedRoom, name: str | None = "match-note", seed: int = 1) -> DrillPresenter:
    presenter = DrillPresenter(room, Now(), Went(), Random(seed), name)
    presenter.opened()
    return presenter


def view_of(presenter: DrillPresenter) -> DrillView:
    assert isinstance(presenter.view, Ready)
    return presenter.view.value


def wanted(presenter: DrillPresenter) -> int:
    asked = presenter._prompt
    assert asked is not None
    return asked.midis[0]


def test_a_sung_note_is_heard_graded_and_logged_and_the_target_joins_the_thread(room: ScriptedRoom) -> None:
    presenter = started(room)
    assert view_of(presenter).phase is Phase.SOUNDING
    room.until(lambda: view_of(presenter).phase is Phase.LISTENING)
    assert view_of(presenter).said == "Your turn: sing it."
    assert view_of(presenter).targets == ()
    room.sing(wanted(presenter))
    room.until(lambda: view_of(presenter).phase.over)
    view = view_of(presenter)
    assert view.phase is Phase.RIGHT
    assert view.said.startswith("Right")
    assert [target.midi for target in view.targets] == [wanted(presenter)]
    assert view.still is not None
    assert view.still.frames
    (answer,) = room.events(DrillAnswered)
    assert answer.right
    presenter.act()
    assert isinstance(presenter.view, Empty)
    assert presenter.view.sentence.startswith("That was today's ear set: 1 drill, 1 right.\nSurer")
    assert presenter.view.action == "Back to Today"
    presenter.act()
    assert went_to(presenter) == [("today", {})]


def test_another_note_is_a_miss_that_says_how_far_it_was(room: ScriptedRoom) -> None:
    presenter = started(room)
    room.until(lambda: view_of(presenter).phase is Phase.LISTENING)
    room.sing(wanted(presenter) + 2)
    room.until(lambda: view_of(presenter).phase.over)
    assert view_of(presenter).phase is Phase.MISSED
    assert view_of(presenter).said == "Yours was 2 frets too high."


def test_a_drill_may_be_heard_again_and_let_pass(room: ScriptedRoom) -> None:
    presenter = started(room)
    room.until(lambda: view_of(presenter).phase is Phase.LISTENING)
    presenter.act()
    assert view_of(presenter).phase is Phase.SOUNDING
    presenter.pass_by()
    assert view_of(presenter).phase is Phase.PASSED
    assert len(room.events(DrillPassed)) == 1


def test_the_first_days_set_is_gone_through(room: ScriptedRoom) -> None:
    presenter = started(room, name=None)
    count = view_of(presenter).count
    assert count >= 3
    for number in range(1, count + 1):
        assert view_of(presenter).number == number
        presenter.pass_by()
        presenter.act()
    assert isinstance(presenter.view, Empty)
    assert presenter.view.sentence.startswith(f"That was today's ear set: {count} drills, 0 right.")


def test_a_word_is_chosen(room: ScriptedRoom) -> None:
    presenter = started(room, "same-higher-lower")
    room.until(lambda: view_of(presenter).phase is Phase.LISTENING)
    assert view_of(presenter).form is AnswerForm.NAME
    asked = presenter._prompt
    assert asked is not None
    right = asked.expected[0]
    presenter.give_name(right.name)  # type: ignore[union-attr]
    assert view_of(presenter).phase is Phase.RIGHT


def test_places_are_touched_and_shown_only_afterwards(room: ScriptedRoom) -> None:
    presenter = started(room, "natural-notes")
    room.until(lambda: view_of(presenter).phase is Phase.LISTENING)
    asked = presenter._prompt
    neck = view_of(presenter).neck
    assert asked is not None
    assert neck is not None
    assert neck.places == ()
    for place in asked.expected:
        presenter.touch(place.string, place.fret)  # type: ignore[union-attr]
    assert view_of(presenter).phase is Phase.RIGHT
    shown = view_of(presenter).neck
    assert shown is not None
    assert len(shown.places) == len(asked.expected)


def test_a_place_touched_again_is_taken_back_and_the_shown_one_is_none(room: ScriptedRoom) -> None:
    presenter = started(room, "other-places")
    room.until(lambda: view_of(presenter).phase is Phase.LISTENING)
    asked = presenter.prompt
    assert asked is not None
    places = [(one.string, one.fret) for one in asked.expected]  # type: ignore[union-attr]
    assert len(places) == 2

    def shown() -> list[tuple[int, int]]:
        neck = view_of(presenter).neck
        assert neck is not None
        return [(place.string, place.fret) for place in neck.places]

    presenter.touch(asked.shown[0].string, asked.shown[0].fret)
    for _ in range(2):
        presenter.touch(6, 0)
    assert shown() == []
    presenter.touch(*places[0])
    assert shown() == places[:1]
    presenter.touch(*places[1])
    assert view_of(presenter).phase is Phase.RIGHT


def test_without_a_microphone_it_says_so_and_looks_again(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path, microphone=False)
    presenter = started(room)
    assert isinstance(presenter.view, Missing)
    room.has_microphone = True
    presenter.act()
    assert view_of(presenter).phase is Phase.SOUNDING


GRADES = [
    (By.GUITAR, Rule.EXACT, 57, Grade(True, 1.0, 2.0, 0.4, Word.INSTANT), "Right. At once."),
    (By.VOICE, Rule.ANY_OCTAVE, 45, Grade(True, 1.0, 4.0, 2.0, Word.SURE), "Right, and right on it. Sure."),
    (By.VOICE, Rule.ANY_OCTAVE, 57, Grade(True, 1.0, -20.0, 2.0, Word.SURE), "Right, a little low. Sure."),
    (By.VOICE, Rule.ANY_OCTAVE, 57, Grade(True, 1.0, 40.0, 2.0, Word.SHAKY), "Right, but high. Shaky still."),
    (By.GUITAR, Rule.EXACT, 69, Grade(False, 0.0, 0.0, 1.0, Word.MISSED), "Right note, 12 frets off."),
    (By.GUITAR, Rule.EXACT, 56, Grade(False, 0.0, 0.0, 1.0, Word.MISSED), "Yours was one fret too low."),
    (By.VOICE, Rule.ANY_OCTAVE, 47, Grade(False, 0.0, 0.0, 1.0, Word.MISSED), "Yours was 2 frets too high."),
    (
        By.VOICE, Rule.ANY_OCTAVE, 57, Grade(False, 0.0, 45.0, 1.0, Word.MISSED),
        "Nearly: yours was 45 cents too high (100 cents are one fret).",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("by", "rule", "heard", "grade", "words"), GRADES)
def test_how_near_it_was_in_words(by: By, rule: Rule, heard: int, grade: Grade, words: str) -> None:
    assert result_words(prompt(57, by, rule), grade, (heard,)) == words


def test_several_notes_are_counted_and_silence_is_named() -> None:
    three: Prompt = replace(prompt(57), expected=(ExpectedNote(57), ExpectedNote(59), ExpectedNote(60)))
    missed = Grade(False, 2 / 3, None, 1.0, Word.MISSED)
    assert result_words(three, missed, (57, 59, 62)) == "2 of 3 notes were right."
    assert result_words(three, missed, ()).startswith("I heard no note.")


@pytest.mark.window
def test_the_page_follows_a_drill_from_prompt_to_grade(window: RealWindow, room: ScriptedRoom) -> None:
    from coach.ui.screens.drill.screen import DrillPage
    from coach.ui.widgets.thread import PitchThread

    presenter = DrillPresenter(room, Now(), Went(), Random(1), "match-note")
    page = window.show(DrillPage(a_context(), presenter), "ear")
    assert "Listen." in window.words()
    assert window.frame.footer.level is not None
    thread = next(widget for widget in window.walk() if isinstance(widget, PitchThread))
    room.until(lambda: view_of(presenter).phase is Phase.LISTENING)
    room.sing(wanted(presenter))
    room.until(lambda: view_of(presenter).phase.over)
    window.frames(3)
    assert "✓ Right" in window.words()
    assert any(widget is thread for widget in window.walk())
    assert thread._runs[0].points
    assert page.action == "Next"
    window.key(32, " ")
    assert "That was today's ear set" in window.words()
    assert window.frame.footer.level is None


@pytest.mark.window
def test_a_word_is_tapped(window: RealWindow, room: ScriptedRoom) -> None:
    from coach.ui.screens.drill.screen import DrillPage

    presenter = DrillPresenter(room, Now(), Went(), Random(1), "same-higher-lower")
    window.show(DrillPage(a_context(), presenter), "ear")
    room.until(lambda: view_of(presenter).phase is Phase.LISTENING)
    window.frames(2)
    window.tap_words(view_of(presenter).choices[0])
    assert view_of(presenter).phase.over
    assert len(room.events(DrillAnswered)) == 1


def test_a_microphone_that_went_away_pauses_the_drill(room: ScriptedRoom) -> None:
    presenter = started(room)
    room.until(lambda: view_of(presenter).phase is Phase.LISTENING)
    room.world.microphone.state = StreamState.LOST
    presenter.check_device()
    assert view_of(presenter).phase is Phase.PAUSED
    assert view_of(presenter).said.startswith("The microphone went away: plug it in")
    room.world.microphone.state = StreamState.RUNNING
    presenter.check_device()
    assert view_of(presenter).phase is Phase.SOUNDING


def test_a_pause_holds_everything_until_the_player_goes_on(room: ScriptedRoom) -> None:
    presenter = started(room)
    room.until(lambda: view_of(presenter).phase is Phase.LISTENING)
    presenter.pause()
    assert view_of(presenter).phase is Phase.PAUSED
    room.world.let_pass(60.0)
    assert view_of(presenter).phase is Phase.PAUSED
    assert room.events(DrillAnswered) == []
    presenter.act()
    assert view_of(presenter).phase is Phase.SOUNDING


def test_silence_waits_for_the_player(room: ScriptedRoom) -> None:
    presenter = started(room)
    room.until(lambda: view_of(presenter).phase is Phase.PAUSED)
    assert view_of(presenter).said.startswith("I heard nothing")
    room.sing(55)
    room.until(lambda: view_of(presenter).phase is Phase.SOUNDING)


@pytest.mark.window
def test_keys_choose_a_word_pause_and_tap(window: RealWindow, room: ScriptedRoom) -> None:
    from coach.ui.screens.drill.screen import DrillPage

    presenter = DrillPresenter(room, Now(), Went(), Random(1), "same-higher-lower")
    page = window.show(DrillPage(a_context(), presenter), "ear")
    room.until(lambda: view_of(presenter).phase is Phase.LISTENING)
    window.key(ord("p"), "p")
    assert view_of(presenter).phase is Phase.PAUSED
    assert page.action == "Go on"
    assert window.button("Paused")
    window.key(32, " ")
    room.until(lambda: view_of(presenter).phase is Phase.LISTENING)
    asked = presenter.prompt
    assert asked is not None
    right = asked.choices.index(asked.expected[0].name) + 1  # type: ignore[union-attr]
    window.key(ord("9"), "9")
    assert not view_of(presenter).phase.over
    window.key(ord(str(right)), str(right))
    assert view_of(presenter).phase is Phase.RIGHT


@pytest.mark.window
@pytest.mark.parametrize("size", [(800, 480), (1280, 800)])
def test_the_whole_neck_is_in_sight(window: RealWindow, room: ScriptedRoom, size: tuple[int, int]) -> None:
    from coach.ui.screens.drill.screen import DrillPage

    window.resize(*size)
    page = window.show(
        DrillPage(a_context(), DrillPresenter(room, Now(), Went(), Random(1), "natural-notes")), "ear"
    )
    window.frames(5)
    assert page.body.height <= page.scroll.height + 1


@pytest.mark.window
def test_beats_are_tapped_with_a_key(window: RealWindow, room: ScriptedRoom) -> None:
    from coach.ui.screens.drill.screen import DrillPage

    presenter = DrillPresenter(room, Now(), Went(), Random(1), "rhythm-echo")
    window.show(DrillPage(a_context(), presenter), "ear")
    room.until(lambda: view_of(presenter).phase is Phase.LISTENING)
    asked = presenter.prompt
    assert asked is not None
    before_s = 0.0
    for at_s in asked.onsets_s:
        room.world.let_pass(at_s - before_s)
        before_s = at_s
        window.key(ord("t"), "t")
    assert view_of(presenter).phase is Phase.RIGHT
