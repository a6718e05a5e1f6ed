"""Sections: 2 to 8 bars at the ends of phrases, and how much of a recording is taken.

The lengths and limits are the product's own rules; that phrases end at rests and long notes is proximity in
Lerdahl and Jackendoff's grouping rules (1983).
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.music.meter import Meter
from coach.pieces.sections import BarRange, check_lengths, marked, placed, propose, trimmed

ENDS = st.lists(st.floats(0, 1), max_size=40)


@given(st.integers(1, 40), ENDS)
def test_sections_cover_all_bars_and_have_two_to_eight(bars: int, ends: list[float]) -> None:
    found = propose(bars, ends)
    assert [bar for part in found for bar in range(part.first, part.last + 1)] == list(range(1, bars + 1))
    assert all(2 <= part.bars <= 8 for part in found) or bars == 1
    assert [part.name for part in found] == [chr(65 + n) for n in range(len(found))]
    assert check_lengths(found, most=40) is None or bars == 1


@pytest.mark.parametrize(("bars", "lengths"), [(8, [4, 4]), (16, [4] * 4), (12, [4] * 3), (2, [2]), (3, [3])])
def test_without_phrases_sections_have_four_bars(bars: int, lengths: list[int]) -> None:
    assert [part.bars for part in propose(bars)] == lengths


def test_sections_meet_the_ends_of_phrases() -> None:
    ends = [0.0] * 13
    ends[3] = ends[6] = ends[9] = 1.0
    assert [part.bars for part in propose(12, ends)] == [3, 3, 3, 3]
    ends = [0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0]
    assert [part.bars for part in propose(8, ends)] == [2, 4, 2]


def test_eight_bars_are_taken_and_two_more_to_end_a_phrase() -> None:
    assert trimmed(40, [], proposed=8, most=16) == 8
    assert trimmed(5, [], proposed=8, most=16) == 5
    ends = [0.0] * 20
    ends[10] = 1.0
    assert trimmed(40, ends, proposed=8, most=16) == 10
    assert trimmed(40, ends, proposed=8, most=9) == 8


@given(st.integers(2, 100), ENDS, st.sampled_from([(8, 16), (16, 16), (32, 32), (2, 4)]))
def test_no_more_than_the_limit_is_ever_taken(bars: int, ends: list[float], limits: tuple[int, int]) -> None:
    taken = trimmed(bars, ends, proposed=limits[0], most=limits[1])
    assert 2 <= taken <= min(bars, limits[1])


def test_limits_that_cannot_be_are_misuse() -> None:
    with pytest.raises(ValueError, match="trim"):
        trimmed(1, [], proposed=8, most=16)
    with pytest.raises(ValueError, match="bars"):
        propose(0)


def test_later_sections_begin_with_the_upbeat() -> None:
    parts = propose(8)
    found = placed(parts, Meter(3, 4))
    assert [(s.name, s.onset) for s in found] == [("A", 0), ("B", 12)]


@pytest.mark.parametrize(
    ("parts", "word"),
    [
        ([], "at least one"),
        ([BarRange("A", 1, 9)], "9 bars"),
        ([BarRange("A", 1, 1)], "1 bars"),
        ([BarRange("A", 1, 4), BarRange("B", 6, 4)], "gap"),
        ([BarRange("A", 1, 8), BarRange("B", 9, 8), BarRange("C", 17, 2)], "16 at most"),
    ],
)
def test_what_is_wrong_with_changed_sections_is_said(parts: list[BarRange], word: str) -> None:
    told = check_lengths(parts, most=16)
    assert told is not None
    assert word in told


@pytest.mark.parametrize(
    ("first", "last", "lengths"),
    [
        (1, 2, [2, 2, 4]),
        (1, 8, [8]),
        (3, 6, [2, 4, 2]),
        (5, 8, [4, 4]),
        (5, 10, [4, 6]),
        (10, 12, [4, 4, 1, 3]),
    ],
)
def test_a_marked_section_keeps_the_edges_around_it(first: int, last: int, lengths: list[int]) -> None:
    parts = marked(propose(8), first, last)
    assert [part.bars for part in parts] == lengths
    assert [part.name for part in parts] == [chr(65 + n) for n in range(len(parts))]
    assert any((part.first, part.last) == (first, last) for part in parts)


def test_a_section_that_ends_before_it_begins_cannot_be_marked() -> None:
    with pytest.raises(ValueError, match="later"):
        marked(propose(8), 4, 3)
