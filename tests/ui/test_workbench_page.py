# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The workbench in a real window: by touch alone, by keys alone, one group of controls at a time."""

from fractions import Fraction
from pathlib import Path
from random import Random
from typing import Any

import pytest

from coach.notation import LineKind
from coach.practice.events import KeyChosen, LineSettled, NoteChecked
from coach.practice.settings import Settings
from coach.tones.learner import plucked
from coach.tones.prompt import PromptNote
from coach.ui.presenters.drawn import Loop
from coach.ui.theme import EVENING, Look
from tests.ui.bench_room import BenchRoom, KnownDesk, beginnings
from tests.ui.checks import faults
from tests.ui.driver import RealWindow
from tests.ui.scripted_room import ScriptedRoom
from tests.ui.stage import a_context, gone

pytestmark = pytest.mark.window

RIGHT, LEFT, UP, DOWN = 275, 276, 273, 274
SPACE, PAGE_UP, DELETE, Z, Y = 32, 280, 127, 122, 121


class Truth(KnownDesk):
    """Every place holds G4."""

    truth = 67


@pytest.fixture(autouse=True)
def known(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("coach.ui.presenters.workbench.CheckDesk", Truth)


def shown(window: RealWindow, room: Any, scale: float = 1.0, **about: str) -> Any:
    from coach.ui.screens.workbench.screen import build

    look = Look(EVENING, scale)
    page = window.show(build(a_context(look, room.services, room, section="A", **about)), "piece")
    window.frames(6)
    return page


def line(room: Any, kind: LineKind = LineKind.MELODY) -> list[tuple[Fraction, int]]:
    return [
        (note.onset, note.midi) for note in room.journal.progress.piece.sections[0].line(kind.value).notes
    ]


def type_key(window: RealWindow, text: str) -> None:
    window.key(ord(text.lower()), text)


def turn(window: RealWindow, page: Any, words: str) -> None:
    """Scroll to a fold and tap it."""
    button = window.button(words)
    page.scroll.scroll_to(button, animate=False)
    window.frames(2)
    window.tap(button)
    window.wait(0.3)  # the fold comes into sight


def test_a_bar_is_written_and_settled_by_keys_alone(window: RealWindow) -> None:
    room = BenchRoom()
    page = shown(window, room)
    type_key(window, "g")
    window.key(SPACE)  # place it
    window.key(SPACE)  # ask
    assert line(room) == [(Fraction(0), 67)]
    assert [asked.verdict for asked in room.events(NoteChecked)] == ["heard"]
    type_key(window, "f")  # at the next place by itself
    window.key(UP)
    type_key(window, "-")
    window.key(SPACE)
    assert line(room)[-1] == (Fraction(1), 54)
    type_key(window, "=")
    assert line(room)[-1] == (Fraction(1), 66)
    window.key(Z, "z", ("ctrl",))
    window.key(Z, "z", ("ctrl",))
    assert len(line(room)) == 1
    window.key(Y, "y", ("ctrl",))
    assert len(line(room)) == 2
    window.key(LEFT)
    window.key(RIGHT)
    window.key(DELETE)
    assert line(room) == [(Fraction(0), 67)]
    window.key(PAGE_UP)  # good enough for now,
    window.key(PAGE_UP)  # though bars are empty
    assert room.events(LineSettled)[0].open_questions == 0
    assert gone(page.context) == [("fit", {"section": "A"})]


def test_a_note_is_written_by_touch_alone(window: RealWindow) -> None:
    room = BenchRoom()
    page = shown(window, room)
    strip, neck = page.strip, page.neck
    x, row = strip.place(Fraction(2))
    window.tap(
        strip, (x + 8 - strip.x) / strip.width, (strip.lane_y(LineKind.MELODY, row) - strip.y) / strip.height
    )
    x, y = neck.place(1, 3)
    window.tap(neck, (x - neck.x) / neck.width, (y - neck.y) / neck.height)
    window.tap_words("Place it")
    window.tap_words("Check")
    assert line(room) == [(Fraction(2), 67)]
    assert "Heard: that is it." in window.words()


def test_a_low_window_shows_the_row_that_is_worked_on(window: RealWindow) -> None:
    window.resize(800, 480)
    page = shown(window, BenchRoom())
    strip = page.strip
    assert (strip.rows, strip.rows_shown, strip.first_row) == (2, 1, 0)
    page.presenter.change_sound(loop=Loop(3, 3))
    window.frames(6)
    assert strip.first_row == 1
    x, row = strip.place(Fraction(14))
    assert row == 0
    across = (x + 8 - strip.x) / strip.width
    window.tap(strip, across, (strip.lane_y(LineKind.MELODY, row) - strip.y) / strip.height)
    assert page.presenter.view.value.chosen == Fraction(14)
    assert not faults(window)


def test_one_group_at_a_time_and_the_rest_folded_away(window: RealWindow) -> None:
    page = shown(window, BenchRoom())
    assert {"Speed and loudness", "More"} <= set(window.buttons())
    assert "Click on the beats: off" not in window.buttons()
    turn(window, page, "Speed and loudness")
    window.tap_words("Click on the beats: off")
    assert "Click on the beats: on" in window.buttons()
    turn(window, page, "More")
    assert "Click on the beats: on" not in window.buttons()
    assert "Triplets: beats in thirds" in window.buttons()
    assert not faults(window)
    turn(window, page, "More")
    assert page.fold is None
    assert "Triplets: beats in thirds" not in window.buttons()


def test_a_syllable_and_a_name_are_typed(window: RealWindow) -> None:
    room = BenchRoom()
    page = shown(window, room)
    turn(window, page, "More")
    entry = _entry(window)
    entry.text = "g4"
    entry.dispatch("on_text_validate")
    window.frames(4)
    window.tap_words("Place it")
    turn(window, page, "Change notes")
    entry = _entry(window)
    entry.text = "la"
    entry.dispatch("on_text_validate")
    window.frames(4)
    (note,) = room.journal.progress.piece.sections[0].melody.notes
    assert (note.midi, note.syllable) == (67, "la")
    assert page.fold == "Change notes"


def _entry(window: RealWindow) -> Any:
    from coach.ui.widgets.field import Entry

    return next(widget for widget in window.walk() if isinstance(widget, Entry))


def test_likely_bass_notes_are_asked_for(window: RealWindow) -> None:
    room = BenchRoom(*beginnings(), KeyChosen("p", "G", 0, 0, 0.0))
    shown(window, room, line="bass")
    assert "G: home note" not in window.buttons()
    window.tap_words("Which notes are likely?")
    window.tap_words("G: home note")
    window.tap_words("Place it")
    assert line(room, LineKind.BASS) == [(Fraction(0), 43)]


def test_the_players_own_pitch_is_drawn_and_named_while_it_listens(
    window: RealWindow, tmp_path: Path
) -> None:
    room = HeardRoom(tmp_path)
    page = shown(window, room)
    assert page.source is not None
    assert page.thread.parent is not None
    room.sing(55)
    room.until(lambda: page.presenter._work.candidate == 55)
    for _ in range(12):
        room.world.let_pass(0.05)
    page.near.said = page.presenter.nearness()
    window.frames(4)
    assert "I heard you: G." in window.words()
    assert page.near.said.startswith("Your note is")
    assert any(run.points for run in page.thread._runs)
    room.world.listener.stop()


def test_nothing_of_the_recording_is_drawn_named_or_proposed(window: RealWindow, tmp_path: Path) -> None:
    """A loudspeaker that plays the tune into the microphone alone."""
    room = HeardRoom(tmp_path)
    page = shown(window, room)
    tune = [PromptNote(midi, 0.2 + at * 0.5, 0.65 + at * 0.5) for at, midi in enumerate((67, 69, 71, 67))]
    sound = plucked(tune, 48_000, Random(4))
    room.world.output.play(sound, 48_000)
    room.world.microphone.say(sound)
    for _ in range(50):
        room.world.let_pass(0.05)
        page.thread.look_up()
        assert page.presenter.nearness() == ""
        assert not any(run.points for run in page.thread._runs)
    assert page.presenter._work.candidate is None
    assert page.presenter._work.said == ""
    room.world.listener.stop()


class HeardRoom(ScriptedRoom):
    """The bench with a scripted microphone."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        bench = BenchRoom(settings=Settings())
        self.log, self._journal = bench.log, bench.journal
        self._services = bench.services
        self.recording = bench.recording


def test_a_page_at_rest_is_not_drawn_again(window: RealWindow) -> None:
    shown(window, BenchRoom())
    at_rest = 0
    for _ in range(300):  # it comes to rest, though the moving line is asked for all the time
        window.wait(0.02)
        at_rest = 0 if window.kivy.canvas.needs_redraw else at_rest + 1
        if at_rest == 10:
            return
        if at_rest == 0:
            window._draw()
    raise AssertionError("it is drawn again and again")


def test_a_strip_that_moves_looks_as_if_drawn_there(window: RealWindow) -> None:
    page = shown(window, BenchRoom())
    type_key(window, "g")
    window.key(SPACE)
    page.said.said = "Some more words make the page longer.\n" * 3
    window.frames(8)
    moved = window.pixels()
    page.strip._draw_now()
    assert page.strip._shift.xy == (0, 0)
    assert (moved == window.pixels()).all()


def test_buttons_that_stay_are_the_same_ones(window: RealWindow) -> None:
    shown(window, BenchRoom())
    type_key(window, "g")
    window.key(SPACE)
    before = window.button("Undo")
    window.key(SPACE)  # ask
    assert window.button("Undo") is before
    window.tap(before)
    assert "Undo" not in window.buttons()


def test_a_note_tied_over_into_the_next_row_goes_on_there(window: RealWindow) -> None:
    window.resize(800, 1280)
    room = BenchRoom()
    page = shown(window, room)
    strip = page.strip
    assert strip.rows > 1
    over = strip.layout.starts[1]
    page.presenter.choose(LineKind.MELODY, over - 1)
    page.presenter.work(lambda note: note.propose(67))
    page.presenter.act()
    window.frames(6)
    before = window.pixels()
    page.presenter.work(lambda note: note.lengthen(4))  # two beats into the next bar
    window.frames(6)
    after = window.pixels()
    x, row = strip.place(over + Fraction(1, 2))
    y = strip.lane_y(LineKind.MELODY, row)
    at = int(window.kivy.height - strip.to_window(x, y)[1]), int(strip.to_window(x, y)[0])
    assert (before[at] != after[at]).any()
    outside = strip.place(over + 3)[0]
    assert (before[at[0], int(strip.to_window(outside, y)[0])] == after[at[0], int(outside)]).all()


def test_both_lines_of_a_section_by_keys_alone(window: RealWindow) -> None:
    room = BenchRoom()
    page = shown(window, room)
    for _ in range(16):
        for key in ("g", " ", " "):  # name it, place it, ask: heard, and on to the next place
            window.key(SPACE) if key == " " else type_key(window, key)
    assert line(room) == [(Fraction(beat), 67) for beat in range(16)]
    window.key(SPACE)  # all of it is heard: the big button calls it good enough
    assert room.events(LineSettled)[-1].open_questions == 0
    page = shown(window, room, line="bass")
    for _ in range(4):
        type_key(window, "g")
        window.key(SPACE)
        window.key(RIGHT)  # to the next bar
    assert [at for at, _ in line(room, LineKind.BASS)] == [0, 4, 8, 12]
    assert {note.duration for note in room.journal.progress.piece.sections[0].bass.notes} == {4}
    window.key(PAGE_UP)
    assert gone(page.context) == [("together", {"section": "A"})]
    assert [event.line for event in room.events(LineSettled)] == ["melody", "bass"]


def test_both_lines_of_a_section_by_touch_alone(window: RealWindow) -> None:
    room = BenchRoom()
    for kind, onsets in ((LineKind.MELODY, range(16)), (LineKind.BASS, range(0, 16, 4))):
        page = shown(window, room, line=kind.value)
        for onset in onsets:
            strip, neck = page.strip, page.neck
            x, row = strip.place(Fraction(onset))
            across = (x + 8 - strip.x) / strip.width
            window.tap(strip, across, (strip.lane_y(kind, row) - strip.y) / strip.height)
            x, y = neck.place(1, 3) if kind is LineKind.MELODY else neck.place(6, 3)
            window.tap(neck, (x - neck.x) / neck.width, (y - neck.y) / neck.height)
            window.tap_words("Place it")
        assert [at for at, _ in line(room, kind)] == list(onsets)
        window.tap_words("Good enough for now")
    assert [event.open_questions for event in room.events(LineSettled)] == [16, 4]


def test_a_settled_line_is_changed_again_twice_and_then_stays(window: RealWindow) -> None:
    room = BenchRoom()
    page = shown(window, room)
    type_key(window, "g")
    window.key(SPACE)
    window.tap_words("Good enough for now")
    window.tap_words("Keep it as it is")
    for _ in range(2):
        page = shown(window, room)
        assert "One open question stays marked." in window.words()
        window.tap_words("Change it again")
        window.tap_words("Good enough for now")
        window.tap_words("Keep it as it is")
    page = shown(window, room)
    window.tap_words("Change it again")
    assert "reopened 2 times" in window.words()
    assert page.presenter.view.value.settled


def test_what_is_under_the_finger_stays_when_words_come(window: RealWindow) -> None:
    page = shown(window, BenchRoom())
    heights = [each.to_window(*each.pos)[1] for each in (page.strip, page.neck)]
    assert page.said.said == ""
    page.presenter.tap(1, 3)
    window.frames(8)
    assert page.said.said != ""
    after = [each.to_window(*each.pos)[1] for each in (page.strip, page.neck)]
    assert after == pytest.approx(heights, abs=1.0)


@pytest.mark.parametrize("scale", [1.0, 1.5])
def test_the_strip_is_in_sight_in_the_lowest_window(window: RealWindow, scale: float) -> None:
    window.resize(800, 480)
    page = shown(window, BenchRoom(), scale=scale)
    page.presenter.work(lambda note: note.propose(67))
    page.presenter.act()
    window.frames(6)
    assert "Good enough for now" in window.buttons()
    lowest = page.strip.to_window(page.strip.x, page.strip.y)[1]
    assert lowest >= page.scroll.to_window(page.scroll.x, page.scroll.y)[1] - 2
    assert next(label.text for label in page.trail.children).endswith("Place it")
    assert len(page.trail.children) == 2, "what it is about, and the step of now"
