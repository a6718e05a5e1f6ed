"""The ring between a callback and the rest, against a plain list of everything ever written."""

import threading

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from coach.audio.ring import SampleRing


def counted(first: int, count: int) -> NDArray[np.float32]:
    """Frames whose values are their numbers."""
    return np.arange(first, first + count, dtype=np.float32)[:, None]


@given(st.lists(st.tuples(st.booleans(), st.integers(0, 40)), max_size=60))
def test_takes_all_in_order_or_says_what_is_missing(steps: list[tuple[bool, int]]) -> None:
    ring = SampleRing(64, 1)
    written = expected = 0
    for writes, count in steps:
        if writes:
            ring.write(counted(written, count))
            written += count
        else:
            first, samples = ring.take()
            assert first >= expected
            assert first == expected or written - expected > 64 * 7 // 8
            assert np.array_equal(samples, counted(first, written - first))
            expected = written


@given(st.lists(st.integers(0, 64), max_size=30), st.integers(0, 100))
def test_latest_is_the_end_of_what_was_written(blocks: list[int], count: int) -> None:
    ring = SampleRing(128, 1)
    written = 0
    for size in blocks:
        ring.write(counted(written, size))
        written += size
    latest = ring.latest(count)
    have = min(count, written)
    assert np.array_equal(latest, counted(written - have, have))
    assert ring.taken == 0


def test_at_most_so_many_are_taken() -> None:
    ring = SampleRing(64, 1)
    ring.write(counted(0, 30))
    assert ring.take(10)[1].shape == (10, 1)
    assert ring.take()[0] == 10


def test_reading_into_a_block_leaves_the_rest_alone() -> None:
    ring = SampleRing(8, 2)
    ring.write(np.ones((5, 2), np.float32))
    out = np.full((7, 2), 9.0, np.float32)
    assert ring.read_into(out) == 5
    assert out[:5].tolist() == [[1.0, 1.0]] * 5
    assert out[5:].tolist() == [[9.0, 9.0]] * 2
    assert ring.waiting == 0


def test_two_threads_lose_nothing() -> None:
    ring = SampleRing(1 << 14, 1)
    total = 200_000

    def write() -> None:
        at = 0
        while at < total:
            if ring.waiting < 8_000:
                ring.write(counted(at, 100))
                at += 100

    thread = threading.Thread(target=write)
    thread.start()
    seen = 0
    while seen < total:
        first, samples = ring.take()
        assert first == seen
        assert samples.shape[0] == 0 or samples[0, 0] == seen
        seen += samples.shape[0]
    thread.join()
