# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""Set-up: every answer is kept and read back; the cards with real taps in the whole app."""

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from coach.audio.limiter import LOOK_AHEAD_S
from coach.bootstrap import make_services
from coach.fretboard import REACHES
from coach.music.naming import Naming
from coach.practice.events import ReplyOpened
from coach.practice.settings import Settings
from coach.reports.reply_file import reply_json
from coach.sessions.deafness import DEFAULT_ROUND_TRIP_S
from coach.sessions.ports import SoundDevice
from coach.sessions.practice_room import PracticeRoom
from coach.sessions.studio import WayKnown
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.setup import SetupPresenter, SetupView
from coach.ui.presenters.setup_cards import CARDS, Question
from coach.ui.presenters.setup_sound import NO_LOUDSPEAKER, TONE_PLAYED, VOLUMES_DB, way_words
from coach.ui.presenters.view import Empty, Ready
from tests.echo_room import EchoRoom
from tests.fakes import FakeCatalog
from tests.practised import practised
from tests.ui.checks import faults
from tests.ui.driver import RealWindow
from tests.ui.keep_room import services_in
from tests.ui.scripted_room import ScriptedRoom
from tests.ui.stage import Now, Went, a_context, went_to

FAKE_BLOCK_S = 0.010
"""The fake output mixes in blocks of so much, as its docstring has it."""
QUESTIONS = [question for card in CARDS for question in card.questions if not question.many]


def started(room: ScriptedRoom, card: str | None = None) -> SetupPresenter:
    presenter = SetupPresenter(room, Now(), InlineRunner(), Went(), card)
    presenter.opened()
    return presenter


def view_of(presenter: SetupPresenter) -> SetupView:
    assert isinstance(presenter.view, Ready)
    return presenter.view.value


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.key)
def test_what_is_answered_is_what_is_read(question: Question) -> None:
    for option, _ in question.options:
        assert question.read(question.write(Settings(), option)) == option
    assert question.read(Settings()) in dict(question.options)


def test_cards_are_gone_through_skipped_and_gone_back(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    presenter = started(room)
    assert view_of(presenter).title == "Can I hear you?"
    assert presenter.levels is not None
    presenter.act()
    presenter.skip()
    assert view_of(presenter).number == 3
    presenter.back()
    assert view_of(presenter).number == 2
    assert room.services.current_settings().set_up_done == ("room",)
    for _ in range(len(CARDS) - 1):
        presenter.skip()
    assert isinstance(presenter.view, Empty)
    presenter.act()
    assert went_to(presenter) == [("today", {})]


def test_an_answer_is_kept_at_once(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    started(room, "hands").choose("four_frets", "yes")
    presenter = started(room, "names")
    presenter.choose("naming", "german")
    kept = make_services(tmp_path).current_settings()
    assert (kept.reach, kept.naming) == ("seasoned", Naming.GERMAN)
    assert went_to(presenter) == [("restart", {"card": "names"})]


def test_without_a_microphone_the_card_says_so_and_goes_on(tmp_path: Path) -> None:
    presenter = started(ScriptedRoom(tmp_path, microphone=False))
    assert view_of(presenter).note.startswith("There is no microphone")
    presenter.act()
    assert view_of(presenter).number == 2


def test_the_tuner_is_opened_from_its_card(tmp_path: Path) -> None:
    presenter = started(ScriptedRoom(tmp_path), "tuning")
    presenter.use("tuner")
    assert went_to(presenter) == [("tuner", {})]


def test_only_a_hand_that_says_so_is_asked_for_more_or_less(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    presenter = started(room, "hands")
    kept = []
    for key, option in (
        ("three_frets", "yes"), ("four_frets", "yes"), ("four_frets", "no"), ("three_frets", "no"),
        ("four_frets", "no"), ("three_frets", "yes"), ("fret_seven", "yes"), ("four_frets", "yes"),
        ("fret_seven", "yes"), ("fret_seven", "no"), ("fret_seven", "yes"), ("three_frets", "no"),
    ):  # fmt: skip
        presenter.choose(key, option)
        kept.append(room.services.current_settings().reach)
    assert kept == [
        "starter", "seasoned", "starter", "narrow", "narrow", "starter", "own", "seasoned",
        "seasoned", "starter", "own", "narrow",
    ]  # fmt: skip
    assert set(kept) <= set(REACHES)


def test_days_are_chosen_one_by_one_and_reminders_are_a_tap_away(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    presenter = started(room, "day")
    for day in ("4", "0", "2", "4"):
        presenter.choose("days", day)
    asked = view_of(presenter).questions[-1]
    assert (asked.many, asked.chosen, len(asked.options)) == (True, "0,2", 7)
    assert room.services.current_settings().practice_days == (0, 2)
    presenter.use("remind")
    assert went_to(presenter) == [("remind", {"back": "setup"})]


@pytest.mark.window
def test_days_are_tapped_on_their_card(window: RealWindow, tmp_path: Path) -> None:
    from coach.ui.screens.setup.screen import build

    room = ScriptedRoom(tmp_path)
    page = window.show(build(a_context(room=room, services=room.services, card="day")), "setup")
    for day in ("Tue", "Sun", "Tue"):
        button = window.button(day)
        page.scroll.scroll_to(button, animate=False)
        window.frames(4)
        window.tap(button)
    assert [window.button(day).chosen for day in ("Tue", "Sun")] == [False, True]
    assert room.services.current_settings().practice_days == (6,)


def test_strings_of_ones_own_are_typed(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    presenter = started(room, "tuning")
    assert view_of(presenter).lines[0].text == "E2,A2,D3,G3,B3,E4"
    presenter.write("strings", " D2 A2, D3 G3 B3 E4")
    # MIDI 1.0 note numbers: D2 is 38.
    assert room.services.current_settings().tuning == (38, 45, 50, 55, 59, 64)
    assert view_of(presenter).note == "Your strings from the thickest up: D2 A2 D3 G3 B3 E4."
    presenter.write("strings", "D2,A2")
    assert "write six notes" in view_of(presenter).note
    assert room.services.current_settings().tuning[0] == 38


def of_devices(folder: Path, *devices: SoundDevice) -> ScriptedRoom:
    return ScriptedRoom(folder, devices=lambda: FakeCatalog(listed=devices))


def test_devices_are_chosen_by_name_and_one_that_is_gone_is_said_to_be(tmp_path: Path) -> None:
    built_in = SoundDevice(0, "built in", 1, 2, 48_000, True, True)
    cable = SoundDevice(1, "on a cable", 2, 0, 44_100, False, False)
    catalog = FakeCatalog(listed=(built_in, cable))
    room = ScriptedRoom(tmp_path, devices=lambda: catalog)
    presenter = started(room, "room")
    asked = view_of(presenter).questions[0]
    assert [words for _, words in asked.options] == ["as the system has it", "built in", "on a cable"]
    assert asked.chosen == ""
    presenter.choose("input", "on a cable")
    assert room.services.current_settings().input_device == "on a cable"
    catalog.listed = (built_in,)
    presenter = started(room, "room")
    assert ("on a cable", "on a cable (not there now)") in view_of(presenter).questions[0].options
    presenter.choose("input", "")
    assert room.services.current_settings().input_device is None
    output = view_of(started(room, "sound")).questions[0]
    assert [word for word, _ in output.options] == ["", "built in"]
    catalog.broken = "There is no sound system: install one."
    assert view_of(started(room, "sound")).note == "There is no sound system: install one."


def test_sound_starts_quiet_is_capped_and_turned_up_at_once(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    presenter = started(room, "sound")
    assert Settings().volume_db <= -12
    assert max(float(word) for word in VOLUMES_DB) == 0
    presenter.choose("volume", "-6.0")
    assert room.world.output.volume_db == -6
    assert "claim no dose" in view_of(presenter).caution
    presenter.use("tone")
    assert view_of(presenter).note == TONE_PLAYED
    tone = room.world.output.played[-1]
    assert 0 < float(abs(tone).max()) <= 1
    room.loudspeaker = lambda: None  # type: ignore[method-assign]
    presenter.use("tone")
    assert view_of(presenter).note == NO_LOUDSPEAKER


@pytest.mark.parametrize(
    ("delay_s", "words"),
    [(0.042, "42 ms. That is quick"), (0.23, "Use a cable"), (None, "hold an ear cup to the microphone")],
)
def test_the_sounds_way_is_told_in_words(tmp_path: Path, delay_s: float | None, words: str) -> None:
    room = ScriptedRoom(tmp_path)
    plain = room.studio()
    room.studio = lambda: SimpleNamespace(  # type: ignore[method-assign]
        listener=plain.listener, output=plain.output, calibrate=lambda: delay_s, way=room.way
    )
    presenter = started(room, "sound")
    presenter.use("measure")
    assert words in view_of(presenter).note
    assert view_of(presenter).title == "What you hear"


def test_what_is_known_of_the_way_is_said_unasked(tmp_path: Path) -> None:
    room = ScriptedRoom(tmp_path)
    assert view_of(started(room, "sound")).found.startswith("I measure how long my sound takes")
    room.way = (0.043, WayKnown.KEPT)
    assert "Last time my sound took 43 ms" in view_of(started(room, "sound")).found
    room.way = (0.21, WayKnown.MEASURED)
    assert "Use a cable" in view_of(started(room, "sound")).found
    started(room, "sound").choose("way", "no")
    assert view_of(started(room, "sound")).found == ""


@pytest.mark.parametrize(("delay_s", "words"), [(0.06, "60 ms"), (0.19, "wireless")])
def test_the_studio_measures_the_way_it_is_given(delay_s: float, words: str) -> None:
    """By chirps, with headphones whose cup is held to the microphone."""
    room = EchoRoom(delay_s, Settings(headphones=True))
    assert room.studio.way == (DEFAULT_ROUND_TRIP_S, WayKnown.ALLOWED)
    measured = room.studio.calibrate()
    assert measured is not None
    assert measured == pytest.approx(delay_s, abs=FAKE_BLOCK_S + LOOK_AHEAD_S)
    assert words in way_words(round(measured, 2))


@pytest.mark.window
def test_strings_are_typed_and_a_tone_is_tapped(window: RealWindow, tmp_path: Path) -> None:
    from coach.ui.screens.setup.screen import SetupPage
    from coach.ui.widgets.field import Entry

    room = of_devices(tmp_path, SoundDevice(0, "built in", 1, 2, 48_000, True, True))
    presenter = SetupPresenter(room, Now(), InlineRunner(), Went(), "sound")
    page = window.show(SetupPage(a_context(), presenter), "setup")
    button = window.button("Play a soft tone")
    page.scroll.scroll_to(button, animate=False)
    window.frames(4)
    window.tap(button)
    assert TONE_PLAYED in window.words()
    window.tap_words("Next")
    entry = next(widget for widget in window.walk() if isinstance(widget, Entry))
    page.scroll.scroll_to(entry, animate=False)
    window.frames(4)
    window.tap(entry)
    entry.text = "D2,A2,D3,G3,A3,D4"
    button = window.button("Use these strings")
    page.scroll.scroll_to(button, animate=False)
    window.frames(4)
    window.tap(button)
    assert room.services.current_settings().tuning == (38, 45, 50, 55, 57, 62)


@pytest.mark.window
def test_the_teachers_place_is_on_the_rail_when_switched_on(window: RealWindow, tmp_path: Path) -> None:
    from coach.ui.shell import CoachApp

    services = make_services(tmp_path)
    app = window.start(CoachApp(services, "today"))
    assert "teacher" not in app.frame.places
    app.go("setup", card="lessons")
    window.frames(6)
    window.tap_words("yes, show me the teacher's place")
    assert services.current_settings().teacher
    window.tap(app.frame.places["teacher"])
    assert (app.word, app.frame.places["teacher"].here) == ("teacher", True)
    for size in ((800, 480), (800, 1280)):
        window.resize(*size)
        services.settings().save(replace(services.current_settings(), text_scale=1.5))
        app.go("restart")
        window.until(lambda: "No folder is watched yet" in window.words())
        window.frames(6)
        assert not faults(window)


@pytest.mark.window
def test_a_reply_that_was_opened_is_not_opened_again_with_the_page(
    window: RealWindow, tmp_path: Path
) -> None:
    from coach.ui.shell import CoachApp

    services = services_in(practised(tmp_path / "data"))
    app = window.start(CoachApp(services, "today"))
    app._jobs = InlineRunner()
    piece = app.room.journal.piece_in_hand.piece
    reply = tmp_path / "reply.json"
    reply.write_bytes(reply_json(ReplyOpened(piece, "Sing it lower.", extra_reopenings=1)))
    app.go("setup", card="lessons", recording=str(reply))
    window.until(lambda: "Sing it lower" in window.words())
    window.tap_words("yes, show me the teacher's place")
    window.frames(6)
    app.go("restart")  # as after a window was drawn larger
    window.frames(20)
    again = app.room.journal.piece_in_hand
    assert (again.words, again.extra_reopenings) == (("Sing it lower.",), 1)


@pytest.mark.window
def test_text_size_and_colours_are_changed_by_tapping_in_the_app(window: RealWindow, tmp_path: Path) -> None:
    from coach.ui.shell import CoachApp
    from coach.ui.theme import PAPER

    services = make_services(tmp_path)
    app = window.start(CoachApp(services, "today"))
    window.tap(app.frame.places["setup"])
    for _ in range(len(CARDS) - 1):
        window.tap_words("Skip")
    window.tap_words("largest")
    assert app.frame.look.text_scale == 1.5
    assert "How it looks" in window.words()
    window.tap_words("always light")
    assert app.frame.look.theme is PAPER
    assert services.current_settings().dark is False
    assert isinstance(app.room, PracticeRoom)
    window.tap_words("Done")
    window.tap_words("Back to Today")
    assert app.word == "today"


@pytest.mark.window
@pytest.mark.parametrize("card", [each.word for each in CARDS])
def test_nothing_of_any_card_is_clipped_on_a_small_screen_with_large_text(
    window: RealWindow, tmp_path: Path, card: str
) -> None:
    from coach.ui.screens.setup.screen import SetupPage
    from coach.ui.theme import PAPER, Look

    long_name = "A microphone and loudspeaker whose maker has found a very long name for it, analogue stereo"
    room = of_devices(tmp_path, SoundDevice(0, long_name, 1, 2, 48_000, True, True))
    presenter = SetupPresenter(room, Now(), InlineRunner(), Went(), card)
    window.resize(800, 480)
    page = window.show(SetupPage(a_context(Look(PAPER, 1.5)), presenter), "setup")
    assert not faults(window)
    page.scroll.scroll_y = 0
    window.frames(4)
    assert not faults(window)


@pytest.mark.window
@pytest.mark.parametrize(("card", "words"), [("day", "Tue"), ("look", "larger")])
def test_the_ring_stays_on_what_was_pressed_by_key(
    window: RealWindow, tmp_path: Path, card: str, words: str
) -> None:
    """Each press draws the card, or with another text size the whole frame, anew."""
    from coach.ui.shell import CoachApp

    app = window.start(CoachApp(make_services(tmp_path), first="ear"))
    app.go("setup", card=card)
    window.frames(4)
    while not window.button(words).focused:
        window.key(9)
    window.key(32)
    window.frames(4)
    assert window.button(words).chosen
    assert window.button(words).focused
    assert [each.said for each in window.walk() if getattr(each, "focused", False)] == [words]
    window.key(9)
    following = [each for each in window.frame.keys.focusable() if each.focused]
    assert following[0].said != words
