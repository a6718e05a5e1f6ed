"""How near an answer was, in words."""

from collections.abc import Sequence

from coach.drills.grade import Grade, Word
from coach.drills.kinds import AnswerForm, By, Rule
from coach.drills.prompt import ExpectedName, ExpectedPlace, Prompt

ON_IT_CENTS = 10.0
LITTLE_CENTS = 25.0
"""“Right on it”, “a little”: our own words; a grade's own limits stand in its prompt."""
_HOW_SURE = {Word.SHAKY: "Shaky still.", Word.SURE: "Sure.", Word.INSTANT: "At once."}


def result_words(prompt: Prompt, grade: Grade, heard: Sequence[int]) -> str:
    """One or two short sentences about an answer; ``heard`` are its notes (MIDI)."""
    if grade.right:
        return f"{_right(prompt, grade)} {_HOW_SURE[grade.word]}"
    match prompt.kind.form:
        case AnswerForm.NOTES:
            return _missed_notes(prompt, grade, heard)
        case AnswerForm.ONSETS:
            hit = round(grade.credit * len(prompt.onsets_s))
            return f"{hit} of {len(prompt.onsets_s)} beats were in time."
        case AnswerForm.NAME:
            return f"It was: {_names(prompt)}."
        case AnswerForm.PLACES:
            return f"It lies here: {_places(prompt)}."


def _right(prompt: Prompt, grade: Grade) -> str:
    if prompt.kind.form is AnswerForm.ONSETS:
        return "Right in time."
    if prompt.kind.form is not AnswerForm.NOTES or prompt.by is not By.VOICE or grade.cents is None:
        return "Right."
    off, way = abs(grade.cents), "high" if grade.cents > 0 else "low"
    if off <= ON_IT_CENTS:
        return "Right, and right on it."
    return f"Right, a little {way}." if off <= LITTLE_CENTS else f"Right, but {way}."


def _missed_notes(prompt: Prompt, grade: Grade, heard: Sequence[int]) -> str:
    wanted = prompt.midis
    if not heard:
        return "I heard no note. Sing or play it a little louder, or let it pass."
    if len(wanted) != 1:
        return f"{round(grade.credit * len(wanted))} of {len(wanted)} notes were right."
    off = heard[0] - wanted[0]
    if prompt.rule is not Rule.EXACT:
        off = (off + 6) % 12 - 6
    if off == 0:
        way = "high" if (grade.cents or 0.0) > 0 else "low"
        return f"Nearly: yours was {abs(grade.cents or 0.0):.0f} cents too {way} (100 cents are one fret)."
    if off % 12 == 0:
        return "Right note, 12 frets off." if abs(off) == 12 else f"Right note, {abs(off)} frets off."
    frets = "one fret" if abs(off) == 1 else f"{abs(off)} frets"
    return f"Yours was {frets} too {'high' if off > 0 else 'low'}."


def _names(prompt: Prompt) -> str:
    return ", ".join(one.name for one in prompt.expected if isinstance(one, ExpectedName))


def _places(prompt: Prompt) -> str:
    places = [one for one in prompt.expected if isinstance(one, ExpectedPlace)]
    return ", ".join(f"string {one.string}, fret {one.fret}" for one in places)
