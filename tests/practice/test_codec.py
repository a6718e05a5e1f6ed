import json
from datetime import date
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given

from coach.errors import StoreError
from coach.practice.codec import EVENT_CLASSES, decode, encode
from coach.practice.events import AimSet, Event, LineWritten, NoteRecord, StringTuned, TimeSpent
from coach.practice.stages import Stage
from tests.event_strategies import EVENT_KINDS, events


@given(events())
def test_every_event_survives_writing_and_reading(event: Event) -> None:
    kind, version, payload = encode(event)
    assert decode(kind, version, payload) == event


def test_every_kind_has_its_own_word() -> None:
    assert len(EVENT_CLASSES) == len(EVENT_KINDS)


def test_fractions_are_strings_and_days_are_iso_8601() -> None:
    note = NoteRecord(Fraction(3, 2), Fraction(1), 60)
    line = json.loads(encode(LineWritten("p", "A", "melody", (note,)))[2])
    assert line["notes"][0]["onset"] == "3/2"
    assert line["notes"][0]["duration"] == "1"
    assert json.loads(encode(AimSet("p", date(2026, 3, 9)))[2])["day"] == "2026-03-09"
    assert json.loads(encode(TimeSpent("piece", 1.5, "p", "A", Stage.BASS))[2])["stage"] == "bass"


def test_fields_that_came_later_have_their_defaults() -> None:
    old = '{"activity":"ear","seconds":60,"unknown":1}'
    assert decode("time_spent", 1, old) == TimeSpent("ear", 60.0)


def test_numbers_of_numpy_are_written_as_plain_ones() -> None:
    event = StringTuned(6, np.float32(1.5))  # type: ignore[arg-type]
    assert encode(event)[2] == '{"string":6,"cents":1.5}'


@pytest.mark.parametrize("cents", [float("nan"), float("inf")])
def test_not_a_number_never_reaches_the_log(cents: float) -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        encode(StringTuned(6, cents))


@pytest.mark.parametrize(
    "payload",
    ["", "[]", "{}", '{"string":"6","cents":1}', '{"string":true,"cents":1}', '{"string":6,"cents":null}'],
)
def test_a_damaged_entry_says_what_to_do(payload: str) -> None:
    with pytest.raises(StoreError, match="restore your last back-up"):
        decode("string_tuned", 1, payload)


@pytest.mark.parametrize(("kind", "version"), [("string_sung", 1), ("string_tuned", 2)])
def test_an_entry_of_a_newer_app_says_so(kind: str, version: int) -> None:
    with pytest.raises(StoreError, match="newer version"):
        decode(kind, version, "{}")
