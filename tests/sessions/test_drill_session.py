from collections.abc import Iterator
from dataclasses import replace
from random import Random

import pytest

from coach.drills.answers import GivenName
from coach.drills.data import SkillKey
from coach.drills.grading import grade
from coach.drills.kinds import By, Kind, Rule
from coach.drills.prompt import ExpectedName, ExpectedNote, ExpectedOnset, Measure, Prompt
from coach.hearing.notes.events import NoteEnded
from coach.music import PerformedNote, Span
from coach.practice.events import DrillAnswered, DrillPassed, VoiceHeard
from coach.sessions.ear.answer import SPARE_S, AnswerGatherer
from coach.sessions.ear.drill_session import DrillSession
from coach.sessions.ear.state import DrillState, Graded, Listening, Passed, Paused, Prompting
from coach.sessions.journal import Journal
from coach.sessions.ports import StreamState
from coach.tones.learner import EXACT, clapped, plucked, sung
from coach.tones.prompt import PromptNote, Timbre
from tests.fakes import MemoryLog
from tests.sessions.test_listener import Room


def prompt(midi: int, by: By = By.GUITAR, rule: Rule = Rule.EXACT) -> Prompt:
    return Prompt(
        drill="match-a-note", kind=Kind.MATCH_NOTE, skill=SkillKey.parse(f"match-a-note:note:any:any:{by}"),
        level=1, by=by, ask="Play this note.", notes=(PromptNote(midi, 0.0, 1.0),), timbre=Timbre.PLUCK,
        sound_s=1.0, listen_from_s=1.2, window_s=6.0, expected=(ExpectedNote(midi),), rule=rule,
        measure=Measure(),
    )  # fmt: skip


class Stage:
    """A drill session in a scripted room."""

    def __init__(self) -> None:
        self.room = Room()
        self.log = MemoryLog()
        self.states: list[DrillState] = []
        self.session = DrillSession(
            self.room.listener, self.room.output, self.room.deafness, Journal(self.log, self.room.clock),
            on_change=self.changed,
        )  # fmt: skip

    def changed(self, state: DrillState) -> None:
        if isinstance(state, Graded):  # the grade is in the log before anybody is told
            assert isinstance(self.log.logged[-1].event, DrillAnswered | VoiceHeard)
        self.states.append(state)

    def until_listening(self) -> None:
        for _ in range(500):
            if isinstance(self.session.state, Listening):
                return
            self.room.listener.step()
        raise AssertionError(self.session.state)

    def answers(self) -> list[DrillAnswered]:
        return [each.event for each in self.log.logged if isinstance(each.event, DrillAnswered)]


@pytest.fixture
def stage() -> Iterator[Stage]:
    stage = Stage()
    yield stage
    stage.session.close()


def test_a_plucked_answer_is_graded_while_it_still_sounds(stage: Stage) -> None:
    stage.session.ask(prompt(57), seed=4)
    stage.until_listening()
    stage.room.pluck(57)
    stage.room.let_pass(0.6)
    assert isinstance(stage.session.state, Graded)
    (answer,) = stage.answers()
    assert (answer.right, answer.heard, answer.seed, answer.by) == (True, (57,), 4, "guitar")


@pytest.mark.parametrize("played", [56, 58, 45, 69])
def test_another_note_or_octave_on_the_guitar_is_wrong(stage: Stage, played: int) -> None:
    stage.session.ask(prompt(57))
    stage.until_listening()
    stage.room.pluck(played)
    stage.room.let_pass(1.0)
    (answer,) = stage.answers()
    assert (answer.right, answer.heard) == (False, (played,))


def test_a_sung_answer_counts_in_any_octave_and_widens_the_range(stage: Stage) -> None:
    stage.session.ask(prompt(64, By.VOICE, Rule.ANY_OCTAVE))
    stage.until_listening()
    voice = sung([PromptNote(52, 0.2, 1.4)], 48000, Random(1), manner=EXACT)
    stage.room.microphone.say(voice)
    stage.room.let_pass(2.0)
    (answer,) = stage.answers()
    assert answer.right
    assert answer.cents is not None
    assert abs(answer.cents) < 20
    assert VoiceHeard(52, 52) in [each.event for each in stage.log.logged]


def test_the_prompt_itself_is_never_the_answer(stage: Stage) -> None:
    stage.session.ask(prompt(57))
    stage.room.pluck(57)  # bleed: the prompt as the microphone hears it
    stage.room.let_pass(1.05)
    assert isinstance(stage.session.state, Prompting)
    assert stage.answers() == []


def test_silence_is_no_miss_but_waits_for_a_sound(stage: Stage) -> None:
    stage.session.ask(prompt(57))
    stage.until_listening()
    stage.room.let_pass(6.1)
    assert stage.session.state == Paused(prompt(57), silent=True)
    stage.room.let_pass(30.0)
    assert stage.log.logged == []
    stage.room.pluck(50)
    stage.room.let_pass(0.5)
    assert isinstance(stage.session.state, Prompting)
    stage.until_listening()
    stage.room.pluck(57)
    stage.room.let_pass(0.8)
    (answer,) = stage.answers()
    assert answer.right
    assert answer.took_s is not None
    assert answer.took_s < 6.0  # the wait is not the drill's


def test_again_asks_the_same_and_costs_nothing(stage: Stage) -> None:
    stage.session.ask(prompt(57))
    stage.until_listening()
    stage.session.again()
    assert isinstance(stage.session.state, Prompting)
    assert len(stage.room.output.played) == 2
    assert stage.log.logged == []


def test_hearing_it_more_than_once_again_makes_a_right_answer_shaky(stage: Stage) -> None:
    stage.session.ask(prompt(57))
    for _ in range(2):
        stage.until_listening()
        stage.session.again()
    stage.until_listening()
    stage.room.pluck(57)
    stage.room.let_pass(0.8)
    (answer,) = stage.answers()
    assert (answer.right, answer.word) == (True, "shaky")


def test_passing_by_is_noted_without_an_answer(stage: Stage) -> None:
    stage.session.ask(prompt(57))
    stage.until_listening()
    stage.session.pass_by()
    assert isinstance(stage.session.state, Passed)
    assert [type(each.event) for each in stage.log.logged] == [DrillPassed]


def test_a_lost_device_pauses_and_the_prompt_is_asked_again(stage: Stage) -> None:
    stage.session.ask(prompt(57))
    stage.until_listening()
    stage.room.microphone.state = StreamState.LOST
    stage.session.check_device()
    assert stage.session.state == Paused(prompt(57), lost_device=True)
    stage.room.microphone.state = StreamState.RUNNING
    stage.session.check_device()  # nobody has to touch the screen
    stage.until_listening()
    stage.room.pluck(57)
    stage.room.let_pass(0.8)
    assert stage.answers()[0].right


def test_a_tapped_answer_is_graded_at_once(stage: Stage) -> None:
    asked = Prompt(
        drill="same", kind=Kind.SAME_HIGHER_LOWER, skill=SkillKey.parse("same:second:any:any:tap"), level=1,
        by=By.GUITAR, ask="Same, higher or lower?", notes=(PromptNote(57, 0.0, 0.5),), timbre=Timbre.PLUCK,
        sound_s=0.5, listen_from_s=0.5, window_s=6.0, expected=(ExpectedName("higher"),), rule=Rule.EXACT,
        measure=Measure(), choices=("same", "higher", "lower"),
    )  # fmt: skip
    stage.session.ask(asked)
    stage.session.give(GivenName("higher", 0.8))
    assert stage.answers()[0].right


def test_every_state_is_told_in_order(stage: Stage) -> None:
    stage.session.ask(prompt(57))
    stage.until_listening()
    stage.room.microphone.say(plucked([PromptNote(57, 0.1, 0.9)], 48000, Random(2)))
    stage.room.let_pass(1.0)
    assert [type(state) for state in stage.states] == [Prompting, Listening, Graded]


def ended(midi: int, start_s: float, length_s: float) -> NoteEnded:
    span = Span(start_s, start_s + length_s)
    return NoteEnded(PerformedNote(span, midi, 0.0, 0.9, midi, start_s + 0.1))


def test_a_short_stray_note_is_waited_out() -> None:
    """A squeak, a slide into a note: heard like a note, and not yet the answer."""
    alone = AnswerGatherer(prompt(57), 0.0, 440.0)
    alone.hear((ended(69, 0.3, 0.07),), ())
    assert not alone.complete(0.5)
    alone.hear((ended(57, 0.6, 0.5),), ())
    assert alone.complete(1.2)
    assert grade(prompt(57), alone.answer(1.2)).right
    only = AnswerGatherer(prompt(57), 0.0, 440.0)
    only.hear((ended(57, 0.3, 0.07),), ())
    assert only.complete(0.37 + SPARE_S + 0.01)
    three = replace(prompt(57), expected=(ExpectedNote(57), ExpectedNote(59), ExpectedNote(60)))
    phrase = AnswerGatherer(three, 0.0, 440.0)
    phrase.hear((ended(57, 0.0, 0.5), ended(58, 0.5, 0.08), ended(59, 0.6, 0.5)), ())
    assert not phrase.complete(1.2)
    phrase.hear((ended(60, 1.2, 0.5),), ())
    assert phrase.complete(1.8)
    assert grade(three, phrase.answer(1.8)).right


def rhythm(times_s: tuple[float, ...], *, along: bool = False) -> Prompt:
    kind = Kind.TAP_BASS_CHANGE if along else Kind.RHYTHM_ECHO
    return Prompt(
        drill="rhythm", kind=kind, skill=SkillKey.parse("rhythm:beat:any:any:tap"), level=1,
        by=By.GUITAR, ask="Clap it back.", notes=(PromptNote(57, 0.0, 3.0),), timbre=Timbre.PLUCK,
        sound_s=3.0, listen_from_s=0.0 if along else 3.0, window_s=9.0,
        expected=tuple(ExpectedOnset(at_s) for at_s in times_s), rule=Rule.EXACT, measure=Measure(),
    )  # fmt: skip


def test_a_rhythm_may_begin_late_and_is_heard_to_its_end(stage: Stage) -> None:
    stage.session.ask(rhythm((0.8, 1.2, 1.6, 2.4)))
    stage.until_listening()
    stage.room.microphone.say(clapped([2.8, 3.2, 3.6, 4.4], 48000, Random(2), manner=EXACT))
    stage.room.let_pass(4.6)
    assert stage.answers() == []
    stage.room.let_pass(1.6)
    (answer,) = stage.answers()
    assert answer.right


def test_taps_count_while_the_prompt_sounds_on_a_loudspeaker(stage: Stage) -> None:
    stage.session.ask(rhythm((0.8, 2.0), along=True))
    stage.room.let_pass(0.95)
    assert isinstance(stage.session.state, Prompting)
    stage.session.tap()
    stage.room.let_pass(1.2)
    stage.session.tap()
    (answer,) = stage.answers()
    assert answer.right


def test_too_few_taps_are_graded_without_a_long_wait(stage: Stage) -> None:
    stage.session.ask(rhythm((0.8, 2.0), along=True))
    stage.room.let_pass(0.9)
    stage.session.tap()
    stage.room.let_pass(5.0)
    (answer,) = stage.answers()
    assert not answer.right


def test_changes_may_be_clapped_back_when_a_loudspeaker_is_over(stage: Stage) -> None:
    stage.session.ask(rhythm((0.8, 2.0), along=True))
    stage.until_listening()
    stage.room.microphone.say(clapped([1.5, 2.7], 48000, Random(2), manner=EXACT))
    stage.room.let_pass(6.0)
    (answer,) = stage.answers()
    assert answer.right


def test_time_to_think_is_no_miss_for_a_finger(stage: Stage) -> None:
    asked = Prompt(
        drill="same", kind=Kind.SAME_HIGHER_LOWER, skill=SkillKey.parse("same:second:any:any:tap"), level=1,
        by=By.GUITAR, ask="Same, higher or lower?", notes=(PromptNote(57, 0.0, 0.5),), timbre=Timbre.PLUCK,
        sound_s=0.5, listen_from_s=0.5, window_s=4.0, expected=(ExpectedName("higher"),), rule=Rule.EXACT,
        measure=Measure(), choices=("same", "higher", "lower"),
    )  # fmt: skip
    stage.session.ask(asked)
    stage.until_listening()
    stage.room.let_pass(20.0)
    assert stage.answers() == []
    stage.session.give(GivenName("higher", stage.session.answering_s))
    (answer,) = stage.answers()
    assert (answer.right, answer.word) == (True, "shaky")
