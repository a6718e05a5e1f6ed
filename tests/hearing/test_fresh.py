"""What is new after an onset: the two pieces of sound that are compared."""

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st

from coach.hearing.engines import engine_named
from coach.hearing.frames import RATE_HZ
from coach.hearing.listening import listen
from coach.hearing.notes.fresh import fresh_sound, pieces


@given(
    held=st.integers(0, RATE_HZ),
    held_from_s=st.floats(0.0, 2.0),
    onset_s=st.floats(-0.5, 3.0),
)
def test_the_pieces_around_an_onset_are_equally_long_wherever_it_lies(
    held: int, held_from_s: float, onset_s: float
) -> None:
    found = pieces(np.full(held, 0.1, np.float32), held_from_s, onset_s)
    assume(found is not None)
    before, after = found
    assert len(before) == len(after)
    assert np.isfinite(fresh_sound(before, after, 440.0).level_db)


def test_a_tone_that_sounds_from_the_very_first_sample_is_heard() -> None:
    time_s = np.arange(RATE_HZ) / RATE_HZ
    tone = sum(np.sin(2 * np.pi * 220.0 * k * time_s) / k for k in range(1, 8)).astype(np.float32) * 0.1
    for source in ("any", "voice", "guitar"):
        heard = listen(tone, RATE_HZ, engine=engine_named("auto"), source=source)
        assert [note.midi for note in heard.notes] == [57]
