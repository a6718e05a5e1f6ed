"""What comes back from the player, and how typed answers are read."""

import json
import re
from dataclasses import dataclass
from typing import assert_never, cast

from coach.drills.items import interval_named, interval_names, interval_of_semitones
from coach.drills.kinds import AnswerForm
from coach.errors import CoachError, InputError
from coach.music.performed import PerformedNote
from coach.music.pitch import Pitch
from coach.notation.note import Place


@dataclass(frozen=True, slots=True)
class HeardNotes:
    """Notes heard from the player, times in seconds from the start of listening."""

    notes: tuple[PerformedNote, ...]


@dataclass(frozen=True, slots=True)
class HeardOnsets:
    """Moments that the player struck, seconds from the start of listening, each with its strength.

    ``strengths`` may be empty where all are equally sure (taps on the screen). ``afterwards``: given when the
    prompt was over, though it asks to be answered along (on a loudspeaker the ear is closed meanwhile).
    """

    times_s: tuple[float, ...]
    strengths: tuple[float, ...] = ()
    afterwards: bool = False

    def __post_init__(self) -> None:
        if self.strengths and len(self.strengths) != len(self.times_s):
            raise ValueError("each onset needs its strength")


@dataclass(frozen=True, slots=True)
class GivenNotes:
    """Notes that were typed or tapped (MIDI), exact by nature."""

    midis: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class GivenName:
    """A word that was chosen."""

    name: str
    answer_s: float | None = None


@dataclass(frozen=True, slots=True)
class GivenPlaces:
    """Places that were touched on the fretboard."""

    places: tuple[Place, ...]
    answer_s: float | None = None


LATEST_S = 3600.0

Answer = HeardNotes | HeardOnsets | GivenNotes | GivenName | GivenPlaces


def read_answer(text: str, form: AnswerForm) -> Answer:
    """Read a typed answer.

    Parameters
    ----------
    text
        Notes (``C4 E4`` or ``60 64``), seconds (``0.5 1.0``), a word (``higher``, ``major third``, ``M3``) or
        places as string:fret (``6:3 5:10``); or the JSON that the command itself prints for ``expected``.
    form
        What is asked for.

    Raises
    ------
    InputError
        If it cannot be read so.
    """
    words = _words(text, form)
    try:
        match form:
            case AnswerForm.NOTES:
                return GivenNotes(tuple(Pitch.parse(word).midi for word in words))
            case AnswerForm.ONSETS:
                return HeardOnsets(tuple(sorted(_moment(word) for word in words)))
            case AnswerForm.NAME:
                return GivenName(" ".join(words))
            case AnswerForm.PLACES:
                return GivenPlaces(tuple(_place(word) for word in words))
            case _:
                assert_never(form)
    except (ValueError, CoachError) as error:
        raise InputError(f"“{text}” is not an answer here: {_HOW[form]}", code="bad_answer") from error


def _moment(word: str) -> float:
    at_s = float(word)
    if not 0.0 <= at_s <= LATEST_S:  # NaN is not, either
        raise ValueError(word)
    return at_s


_HOW = {
    AnswerForm.NOTES: "write notes such as “C4 E4”.",
    AnswerForm.ONSETS: "write seconds such as “0.5 1.0”.",
    AnswerForm.NAME: "write one of the words offered.",
    AnswerForm.PLACES: "write string and fret such as “6:3”.",
}
_FIELDS = {
    AnswerForm.NOTES: ("midi",),
    AnswerForm.ONSETS: ("onset_s",),
    AnswerForm.NAME: ("name",),
    AnswerForm.PLACES: ("string", "fret"),
}
_PLACE = re.compile(r"(?:s|string)?\s*([1-6])\s*[:/.,f-]\s*([0-9]{1,2})")


def _words(text: str, form: AnswerForm) -> list[str]:
    if text.lstrip().startswith(("[", "{")):
        return _json_words(text, form)
    return text.replace(";", " ").split() if form is AnswerForm.PLACES else text.replace(",", " ").split()


def _json_words(text: str, form: AnswerForm) -> list[str]:
    fields = _FIELDS[form]
    try:
        given = json.loads(text)
        rows = cast("list[object]", given if isinstance(given, list) else [given])
        return [
            ":".join(str(cast("dict[str, object]", row)[name]) for name in fields)
            if isinstance(row, dict)
            else str(row)
            for row in rows
        ]
    except (ValueError, KeyError) as error:
        raise InputError(f"“{text}” is not an answer here: {_HOW[form]}", code="bad_answer") from error


def _place(word: str) -> Place:
    found = _PLACE.fullmatch(word)
    if found is None:
        raise ValueError(word)
    return Place(int(found[1]), int(found[2]))


def one_spelling(text: str) -> str:
    """One spelling for all ways of writing an answer's word.

    Intervals may be written ``M3``, ``major third``, ``4 frets``, ``4``, ``tritone``; all become the short
    name. Other words are only lowered.
    """
    word = " ".join(text.split())
    if word in interval_names():
        return "A4" if word == "d5" else word
    lower = word.lower()
    if lower in {"tritone", "diminished fifth"}:
        return "A4"
    for name in interval_names():
        if lower == interval_named(name).name:
            return name
    frets = re.fullmatch(r"([0-9]{1,2})(?: frets?| semitones?)?", lower)
    if frets is not None and 1 <= int(frets[1]) <= 16:
        return interval_of_semitones(int(frets[1])).short_name
    return lower
