"""Answers in recordings: from the very first sample on, in any level, in rooms of any kind."""

from random import Random

import numpy as np
import pytest

from coach.drills.answers import HeardNotes, HeardOnsets
from coach.drills.context import DrillContext
from coach.drills.kinds import By
from coach.drills.making import make_prompt
from coach.hearing.engines import engine_named
from coach.sessions.ear.recorded import heard_answer
from tests.drill_answers import RATE_HZ, all_drills
from tests.synth import Audio, clap, pink_noise, place, pluck, voice

ENGINE = engine_named("auto")
CLOSE_S = 0.03


def drill(name: str, by: By) -> object:
    found = next(each for each in all_drills() if each.name == name)
    return make_prompt(found, 1, Random(1), DrillContext(), by=by)


def heard(name: str, by: By, sound: Audio) -> HeardNotes | HeardOnsets:
    return heard_answer(drill(name, by), sound, RATE_HZ, a4_hz=440.0, engine=ENGINE)  # type: ignore[arg-type]


@pytest.mark.parametrize("room", [0.0, 0.0005, 0.003])
def test_strokes_at_the_first_and_the_last_moment_count(room: float) -> None:
    times_s = (0.0, 0.5, 0.75, 1.5)
    sound = place([(at_s, clap(rate_hz=RATE_HZ, seed=3)) for at_s in times_s], 1.55, rate_hz=RATE_HZ)
    noise = pink_noise(1.55, rate_hz=RATE_HZ, rms=max(room, 1e-9))[: len(sound)]
    answer = heard("rhythm-echo", By.GUITAR, (sound + noise).astype(np.float32))
    assert isinstance(answer, HeardOnsets)
    assert answer.times_s == pytest.approx(times_s, abs=CLOSE_S)


@pytest.mark.parametrize("level", [0.3, 0.03])
def test_notes_from_the_first_sample_on_are_heard(level: float) -> None:
    hz = [440.0 * 2 ** ((midi - 69) / 12) for midi in (55, 59, 57)]
    sung = [(0.6 * i, voice(each, 0.55, rate_hz=RATE_HZ, level=level)) for i, each in enumerate(hz)]
    plucked = [(0.6 * i, pluck(each, 0.6, rate_hz=RATE_HZ, level=level)) for i, each in enumerate(hz)]
    for by, parts in ((By.VOICE, sung), (By.GUITAR, plucked)):
        answer = heard("phrase-echo", by, place(parts, 2.0, rate_hz=RATE_HZ))
        assert isinstance(answer, HeardNotes)
        assert [note.midi for note in answer.notes] == [55, 59, 57]
        assert answer.notes[0].span.start_s == pytest.approx(0.0, abs=0.06)


def test_a_recording_without_any_quiet_moment_is_taken_as_it_is() -> None:
    answer = heard("match-note", By.VOICE, voice(220.0, 1.0, rate_hz=RATE_HZ))
    assert isinstance(answer, HeardNotes)
    assert [note.midi for note in answer.notes] == [57]
    for empty in (np.zeros(0, np.float32), np.zeros(10, np.float32)):
        assert heard("match-note", By.VOICE, empty) == HeardNotes(())
