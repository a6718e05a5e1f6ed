"""Drills, prompts and grades as JSON values and as lines for people."""

from collections.abc import Iterator
from typing import assert_never

from coach.drills.answers import Answer, GivenName, GivenNotes, GivenPlaces, HeardNotes, HeardOnsets
from coach.drills.data import Drill
from coach.drills.grade import Grade
from coach.drills.kinds import By
from coach.drills.prompt import Expected, ExpectedName, ExpectedNote, ExpectedOnset, ExpectedPlace, Prompt
from coach.music import Pitch

_TIME_DIGITS = 4


def drill_value(drill: Drill) -> dict[str, object]:
    """A drill in the list of drills."""
    return {
        "name": drill.name,
        "kind": drill.kind.value,
        "title": drill.title,
        "levels": len(drill.levels),
        "by": [by.value for by in drill.by or By],
        "items": list(drill.items),
    }


def prompt_value(prompt: Prompt, seed: int, answer: Answer | None, result: Grade | None) -> dict[str, object]:
    """One drill by the command line's contract, and what is asked in words."""
    return {
        "name": prompt.drill,
        "kind": prompt.kind.value,
        "level": prompt.level,
        "by": prompt.by.value,
        "seed": seed,
        "prompt": [
            {
                "midi": note.midi,
                "start_s": round(note.start_s, _TIME_DIGITS),
                "end_s": round(note.end_s, _TIME_DIGITS),
            }
            for note in prompt.notes
        ],
        "expected": [_expected(one) for one in prompt.expected],
        "rule": prompt.rule.value,
        "heard": [] if answer is None else _heard(answer),
        "grade": None if result is None else grade_value(result),
        "ask": prompt.ask,
        "skill": prompt.skill.text,
        "choices": list(prompt.choices),
        "listen_from_s": round(prompt.listen_from_s, _TIME_DIGITS),
        "window_s": round(prompt.window_s, _TIME_DIGITS),
    }


def grade_value(result: Grade) -> dict[str, object]:
    """A grade by the contract."""
    return {
        "right": result.right,
        "credit": result.credit,
        "cents": result.cents,
        "answer_s": None if result.answer_s is None else round(result.answer_s, _TIME_DIGITS),
        "word": result.word.value,
    }


def prompt_text(prompt: Prompt, result: Grade | None) -> Iterator[str]:
    """What a person reads; the right answer stays untold until one was given."""
    yield prompt.ask
    if prompt.choices:
        yield "Choose from: " + ", ".join(prompt.choices)
    if result is not None:
        yield from grade_text(prompt, result)


def grade_text(prompt: Prompt, result: Grade) -> Iterator[str]:
    """A grade for people, with the right answer where it was missed."""
    off = "" if result.cents is None else f", {result.cents:+.0f} cents"
    yield f"{result.word.value}{off}"
    if not result.right:
        yield "It was: " + ", ".join(_spoken(one) for one in prompt.expected)


def _expected(one: Expected) -> dict[str, object]:
    match one:
        case ExpectedNote(midi=midi):
            return {"midi": midi}
        case ExpectedOnset(onset_s=onset_s):
            return {"onset_s": onset_s}
        case ExpectedName(name=name):
            return {"name": name}
        case ExpectedPlace(string=string, fret=fret):
            return {"string": string, "fret": fret}
        case _:
            assert_never(one)


def _spoken(one: Expected) -> str:
    match one:
        case ExpectedNote(midi=midi):
            return Pitch.from_midi(midi).name
        case ExpectedOnset(onset_s=onset_s):
            return f"{onset_s:.2f} s"
        case ExpectedName(name=name):
            return name
        case ExpectedPlace(string=string, fret=fret):
            return f"string {string} fret {fret}"
        case _:
            assert_never(one)


def _heard(answer: Answer) -> list[dict[str, object]]:
    match answer:
        case HeardNotes(notes=notes):
            return [{"midi": note.midi} for note in notes]
        case GivenNotes(midis=midis):
            return [{"midi": midi} for midi in midis]
        case HeardOnsets(times_s=times_s):
            return [{"onset_s": round(at_s, _TIME_DIGITS)} for at_s in times_s]
        case GivenName(name=name):
            return [{"name": name}]
        case GivenPlaces(places=places):
            return [{"string": place.string, "fret": place.fret} for place in places]
        case _:
            assert_never(answer)
