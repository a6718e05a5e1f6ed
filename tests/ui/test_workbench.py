"""The workbench as a beginner lives it, without a window: steps, words, marks, loop, keys."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from coach.hearing.frames import F0Frame
from coach.music import Pitch
from coach.music.naming import Naming
from coach.music.tuning_system import midi_to_hz
from coach.notation import LineKind, Note
from coach.pieces.capture import Feel
from coach.practice.events import GridSet, HintTaken, KeyChosen, LineSettled, LineWritten, NoteChecked
from coach.practice.settings import Settings
from coach.sessions.piece.line_desk import LineDesk
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.drawn import Answer, Loop
from coach.ui.presenters.loop_beats import beats_of
from coach.ui.presenters.nearness import held_midi, near_words
from coach.ui.presenters.note_asking import LADDER_WORDS, REVEAL_QUESTION
from coach.ui.presenters.note_work import NoteWork
from coach.ui.presenters.workbench import WorkbenchPresenter
from coach.ui.presenters.workbench_shows import APART_WORDS
from coach.ui.presenters.workbench_view import Step
from tests.ui.bench_room import BenchRoom, KnownDesk, beginnings, find, opened, view_of
from tests.ui.stage import Now, Went

NAMES = ("C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B")
TRUE = 61
"""What the recording holds everywhere in these tests: D flat 4."""


def voice(midi: float, *, frames: int = 20) -> tuple[F0Frame, ...]:
    return tuple(F0Frame(0.016 * i, midi_to_hz(midi), 0.9, True, 0.016 * i) for i in range(frames))


# --- hear and hum -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sung", "words"),
    [
        (65.05, "Your note is F."),
        (65.55, "Your note is between F and F♯: a little higher makes F♯."),
        (65.45, "Your note is between F and F♯: a little lower makes F."),
        (65.75, "Your note is just below F♯: a little higher makes F♯."),
        (66.25, "Your note is just above F♯: a little lower makes F♯."),
    ],
)
def test_how_near_a_voice_is_in_words_of_its_own_note(sung: float, words: str) -> None:
    assert near_words(held_midi(voice(sung)), lambda midi: NAMES[midi % 12]) == words


def test_a_slide_or_silence_is_no_note_yet() -> None:
    silence = tuple(replace(frame, f0_hz=None, voiced=False) for frame in voice(60))
    assert held_midi(silence) is None
    assert held_midi(voice(60) + voice(62)) is None
    assert near_words(None, str) == ""


def test_three_small_steps(monkeypatch: Any) -> None:
    presenter = opened(BenchRoom(), monkeypatch)
    assert view_of(presenter).step is Step.HEAR
    presenter.work(lambda note: note.hear(67))
    assert (view_of(presenter).step, view_of(presenter).said) == (Step.FIND, "I heard you: G.")
    assert view_of(presenter).neck.notes == ()  # it is the player who finds it
    presenter.work(lambda note: note.hear(65))
    assert view_of(presenter).said == "I heard you: F, two frets lower than G before."
    assert view_of(presenter).step is Step.FIND
    presenter.work(lambda note: note.hear(67))
    assert view_of(presenter).said == "That is it: G again. It lies on string 1, fret 3."
    assert view_of(presenter).step is Step.PLACE
    presenter.act()
    assert view_of(presenter).step is Step.ASK
    presenter.act()
    assert (view_of(presenter).step, view_of(presenter).said) == (Step.GO_ON, "Not heard there.")


def test_a_tap_on_the_neck_finds_it_at_once(monkeypatch: Any) -> None:
    presenter = opened(BenchRoom(), monkeypatch)
    presenter.work(lambda note: note.hear(67))
    presenter.tap(2, 2)
    assert view_of(presenter).step is Step.PLACE
    assert view_of(presenter).neck.notes[0].name == "D♭"
    presenter.act()
    presenter.act()
    assert view_of(presenter).said == "Heard: that is it."
    assert view_of(presenter).step is Step.HEAR  # the next place


def test_a_corrected_claim_takes_the_place_of_the_first(monkeypatch: Any) -> None:
    presenter = opened(BenchRoom(), monkeypatch)
    presenter.work(lambda note: note.hear(79))
    presenter.work(lambda note: note.correct(67))
    assert view_of(presenter).step is Step.FIND
    assert presenter._work.candidate == 67


def test_a_voice_that_finds_its_pitch_is_one_note(monkeypatch: Any) -> None:
    presenter = opened(BenchRoom(), monkeypatch)
    presenter.work(lambda note: note.hear(65))
    presenter.work(lambda note: note.go_on(67))  # without a rest
    presenter.work(lambda note: note.go_on(67))
    assert (view_of(presenter).step, view_of(presenter).said) == (Step.FIND, "I heard you: G.")
    presenter.act()
    presenter.work(lambda note: note.correct(68))  # that note is written already
    assert view_of(presenter).step is Step.ASK


def test_who_cannot_sing_finds_it_at_once(monkeypatch: Any) -> None:
    presenter = opened(BenchRoom(settings=Settings(can_sing=False)), monkeypatch)
    assert "hum" not in view_of(presenter).sentence
    presenter.work(lambda note: note.hear(67))
    assert view_of(presenter).step is Step.PLACE


def test_a_page_left_while_it_opened_does_not_take_the_ear(monkeypatch: Any) -> None:
    room = BenchRoom()
    asked: list[str] = []
    monkeypatch.setattr(room, "studio", lambda: asked.append("ear"))
    monkeypatch.setattr("coach.ui.presenters.workbench.CheckDesk", KnownDesk)
    presenter = WorkbenchPresenter(room, "A", LineKind.MELODY, Now(), InlineRunner(), Went())
    presenter.closed()
    presenter.opened()
    assert asked == []


# --- answers and hints ------------------------------------------------------------------------------------


def test_marks_are_there_again_when_the_line_is_opened_again(monkeypatch: Any) -> None:
    room = BenchRoom()
    presenter = opened(room, monkeypatch)
    find(presenter, [TRUE, 64])
    presenter.check_all()
    for _ in range(3):  # one at a time, so that no action takes long
        presenter.look_up()
    assert view_of(presenter).said == "Heard: 1 of 2 notes. 1 is marked."
    again = opened(room, monkeypatch)
    assert [note.answer for note in view_of(again).strip.notes] == [Answer.HEARD, Answer.NOT_HEARD]
    assert len(room.events(NoteChecked)) == 2


def test_after_six_notes_the_ladder_is_offered_in_words(monkeypatch: Any) -> None:
    room = BenchRoom()
    presenter = opened(room, monkeypatch)
    for count, midi in enumerate((50, 52, 53, 55, 57, 59), 1):
        presenter.choose(LineKind.MELODY, Fraction(0))
        presenter.work(lambda note, midi=midi: note.propose(midi))
        presenter.act()
        presenter.act()
        assert (LADDER_WORDS in view_of(presenter).said) == (count == 6)
    again = opened(room, monkeypatch)  # the count is kept
    again.choose(LineKind.MELODY, Fraction(0))
    again.work(NoteWork.check)
    assert LADDER_WORDS in view_of(again).said


def test_the_note_is_shown_only_after_a_yes(monkeypatch: Any) -> None:
    room = BenchRoom()
    presenter = opened(room, monkeypatch)
    find(presenter, [64])
    presenter.choose(LineKind.MELODY, Fraction(0))
    presenter.act()
    said = []
    for _ in range(3):
        presenter.work(NoteWork.hint)
        said.append(view_of(presenter).said)
    assert said == ["It is lower in sound.", "It is further than two frets away.", REVEAL_QUESTION]
    assert view_of(presenter).confirming
    assert len(room.events(HintTaken)) == 2
    presenter.work(NoteWork.not_yet)
    assert not view_of(presenter).confirming
    presenter.work(NoteWork.hint)
    presenter.work(NoteWork.hint)
    assert view_of(presenter).said == "It is D♭."
    assert view_of(presenter).hint is None


def test_open_questions_stay_as_marks(monkeypatch: Any) -> None:
    room = BenchRoom()
    presenter = opened(room, monkeypatch)
    find(presenter, [TRUE, 64])
    presenter.choose(LineKind.MELODY, Fraction(0))
    presenter.act()
    presenter.settle()
    presenter.settle()  # though bars are empty
    assert room.events(LineSettled)[0].open_questions == 1
    view = view_of(opened(room, monkeypatch))
    assert [note.answer for note in view.strip.notes] == [Answer.HEARD, Answer.OPEN]
    assert "One open question stays marked." in view.sentence


# --- loop -------------------------------------------------------------------------------------------------


def test_the_loop_clicks_and_counts_in_as_chosen_and_is_never_louder_than_set(monkeypatch: Any) -> None:
    room = BenchRoom(settings=Settings(volume_db=-18.0))
    presenter = opened(room, monkeypatch)
    presenter.change_sound(loop=Loop(1, 1), speed=0.5)
    presenter.play_or_stop()
    assert room.fake_player.parts[-1].clicks_s == ()
    presenter.play_or_stop()
    presenter.beat(click=True, count_in=True)
    presenter.play_or_stop()
    part = room.fake_player.parts[-1]
    assert part.clicks_s == pytest.approx((4.0, 4.75, 5.5, 6.25))
    assert part.accents_s == pytest.approx((4.0,))
    assert part.count_in_s == pytest.approx((1.5,) * 4)  # as slowed
    assert set(room.fake_player.volumes_db) == {-18.0}
    presenter.hold_or_release()
    assert view_of(presenter).sound.holding


def test_the_line_is_heard_beside_the_recording_as_it_is_written(monkeypatch: Any) -> None:
    room = BenchRoom()
    presenter = opened(room, monkeypatch)
    find(presenter, [61, 64])
    presenter.hear_both()
    assert view_of(presenter).said == APART_WORDS
    assert view_of(presenter).sound.apart
    part = room.fake_player.parts[-1]
    assert part.beside is not None
    assert [(note.midi, note.start_s) for note in part.beside] == [(61, 1.0), (64, 1.75)]
    presenter.work(lambda note: note.propose(66))
    presenter.act()  # a new note sounds along at once
    assert [note.midi for note in room.fake_player.parts[-1].beside or ()] == [61, 64, 66]
    count = len(room.fake_player.parts)
    presenter.hold_or_release()
    presenter.work(NoteWork.remove)
    assert len(room.fake_player.parts) == count  # a held moment is not let go by that
    presenter.hold_or_release()
    presenter.hear_both()
    assert room.fake_player.parts[-1].beside is None
    assert view_of(presenter).said == ""


def test_the_place_comes_along_with_the_loop(monkeypatch: Any) -> None:
    presenter = opened(BenchRoom(), monkeypatch)
    presenter.change_sound(loop=Loop(2, 3))
    assert view_of(presenter).chosen == Fraction(8)
    presenter.choose(LineKind.MELODY, Fraction(13))
    presenter.change_sound(loop=Loop(3, 3))
    assert view_of(presenter).chosen == Fraction(13)


@pytest.mark.parametrize(("pickup", "counted"), [("1", 3.0), ("1/2", 3.5), ("3/2", 2.5)])
def test_an_upbeat_is_counted_in_from_the_one_before_it(pickup: str, counted: float) -> None:
    piece = BenchRoom(*beginnings(pickup=Fraction(pickup))).journal.progress.piece
    beats = beats_of(piece, piece.sections[0], Loop(0, 1))
    assert sum(beats.count_in_s) == pytest.approx(0.75 * counted)
    assert len(beats.accents_s) == 1
    assert beats.accents_s[0] == pytest.approx(1.0 + 0.75 * Fraction(pickup))


# --- bass -------------------------------------------------------------------------------------------------


def test_a_bass_is_looked_for_on_the_first_beat_of_each_bar(monkeypatch: Any) -> None:
    room = BenchRoom(*beginnings("3/4", Fraction(1)))
    presenter = opened(room, monkeypatch, LineKind.BASS)
    ones = [(LineKind.BASS, Fraction(1 + 3 * bar)) for bar in range(4)]
    assert list(view_of(presenter).strip.slots) == ones
    assert view_of(presenter).chosen == ones[0][1]
    presenter.choose(*ones[1])
    find(presenter, [45])
    assert list(view_of(presenter).strip.slots) == [ones[0], *ones[2:]]
    assert view_of(opened(room, monkeypatch)).strip.slots == ()  # a tune is not guessed at


def test_likely_notes_come_on_request_and_only_by_the_key(monkeypatch: Any) -> None:
    room = BenchRoom(*beginnings(), KeyChosen("p", "G", 0, 0, 0.0))
    presenter = opened(room, monkeypatch, LineKind.BASS)
    assert view_of(presenter).likely == ()
    presenter.show_likely()
    likely = view_of(presenter).likely
    assert "common in this key" in view_of(presenter).said
    assert [each.name for each in likely[:3]] == ["G", "C", "D"]
    presenter.work(lambda note: note.propose(likely[0].midi))
    assert view_of(presenter).step is Step.PLACE
    assert view_of(opened(room, monkeypatch)).likely is None


def test_an_octave_above_the_bass_counts(monkeypatch: Any) -> None:
    presenter = opened(BenchRoom(), monkeypatch, LineKind.BASS, truth=41)
    find(presenter, [53])
    presenter.choose(LineKind.BASS, Fraction(0))
    presenter.act()
    assert view_of(presenter).said == "Heard: that is it."


# --- phrases ------------------------------------------------------------------------------------------------


def phrase_of(presenter: Any, monkeypatch: Any, *notes: tuple[str, int]) -> None:
    """Let the player have sung these notes (onset in quarters, MIDI)."""
    heard = [Note(Fraction(at), Fraction(1, 2), Pitch.from_midi(midi)) for at, midi in notes]
    monkeypatch.setattr(presenter._phrase, "end", lambda *_: heard)
    presenter.end_phrase()


def test_an_upbeat_belongs_to_the_section_if_it_begins_with_one(monkeypatch: Any) -> None:
    room = BenchRoom(*beginnings(pickup=Fraction(1)))
    presenter = opened(room, monkeypatch)
    phrase_of(presenter, monkeypatch, ("1/2", 52), ("1", 55), ("17", 57))
    assert [note.onset for note in room.events(LineWritten)[-1].notes] == [Fraction(1, 2), Fraction(1)]
    assert "I wrote 2 notes down. Left out: one lies outside section A." in view_of(presenter).said


def test_after_a_phrase_its_octave_can_be_put_right(monkeypatch: Any) -> None:
    room = BenchRoom()
    presenter = opened(room, monkeypatch)
    phrase_of(presenter, monkeypatch, ("0", 48), ("1", 50))
    assert view_of(presenter).just_written
    assert "All 12 frets up" in view_of(presenter).said
    presenter.work(lambda note: note.all_octaves(1))
    assert not view_of(presenter).just_written
    assert [note.midi for note in room.events(LineWritten)[-1].notes] == [60, 62]


def test_a_silent_phrase_writes_nothing(monkeypatch: Any) -> None:
    room = BenchRoom()
    presenter = opened(room, monkeypatch)
    phrase_of(presenter, monkeypatch)
    assert room.events(LineWritten) == []
    assert view_of(presenter).said == "I heard no note: try once more."


# --- entry ------------------------------------------------------------------------------------------------


def test_letters_mean_the_nearest_note(monkeypatch: Any) -> None:
    presenter = opened(BenchRoom(), monkeypatch)
    find(presenter, [67])
    presenter.letter("B")
    assert presenter._work.candidate == 71
    presenter.letter("C")
    presenter.work(lambda note: note.shift(-1))
    assert presenter._work.candidate == 71
    presenter.work(lambda note: note.octave(-1))
    assert presenter._work.candidate == 59


def test_german_letters(monkeypatch: Any) -> None:
    presenter = opened(BenchRoom(settings=Settings(naming=Naming.GERMAN)), monkeypatch)
    presenter.letter("H")
    assert (presenter._work.candidate, view_of(presenter).said) == (59, "H.")
    presenter.letter("B")
    assert (presenter._work.candidate % 12, view_of(presenter).said) == (10, "B.")
    presenter.work(lambda note: note.type_note("ges"))
    assert presenter._work.candidate % 12 == 6


def test_a_wrong_name_says_what_to_write(monkeypatch: Any) -> None:
    presenter = opened(BenchRoom(), monkeypatch)
    presenter.work(lambda note: note.type_note("Q"))
    assert "is not a note name" in view_of(presenter).said


def test_notes_are_moved_changed_taken_out_and_brought_back(monkeypatch: Any) -> None:
    room = BenchRoom()
    presenter = opened(room, monkeypatch)
    find(presenter, [67])
    presenter.choose(LineKind.MELODY, Fraction(0))
    presenter.work(lambda note: note.say(" la "))
    presenter.work(lambda note: note.move(1))
    presenter.work(lambda note: note.lengthen(1))
    (written,) = room.events(LineWritten)[-1].notes
    assert (written.onset, written.duration, written.syllable) == (Fraction(1, 2), Fraction(3, 2), "la")
    assert view_of(presenter).syllable == "la"
    presenter.work(NoteWork.remove)
    assert view_of(presenter).strip.notes == ()
    presenter.work(NoteWork.undo)
    assert len(view_of(presenter).strip.notes) == 1
    presenter.work(NoteWork.redo)
    assert view_of(presenter).strip.notes == ()


def test_beats_are_divided_another_way(monkeypatch: Any) -> None:
    room = BenchRoom()
    presenter = opened(room, monkeypatch)
    presenter.divide(Feel.TRIPLET)
    assert room.events(GridSet)[-1].feel == "triplet"
    assert view_of(presenter).grid == Fraction(1, 3)


def test_a_settled_line_is_not_changed_by_keys_or_ear(monkeypatch: Any) -> None:
    room = BenchRoom()
    presenter = opened(room, monkeypatch)
    find(presenter, [67])
    presenter.settle()
    presenter.letter("C")
    presenter.work(lambda note: note.hear(60))
    presenter.work(NoteWork.remove)
    assert [note.midi for note in LineDesk(room.journal, "A", LineKind.MELODY).line] == [67]
