"""Grading of any answer to any prompt."""

from typing import assert_never

from coach.drills.answers import Answer, GivenName, GivenNotes, GivenPlaces, HeardNotes, HeardOnsets
from coach.drills.grade import Grade
from coach.drills.grade_notes import grade_notes
from coach.drills.grade_onsets import grade_onsets
from coach.drills.grade_words import grade_name, grade_places
from coach.drills.kinds import AnswerForm
from coach.drills.prompt import Prompt


def grade(prompt: Prompt, answer: Answer, *, again: int = 0) -> Grade:
    """Grade an answer.

    Parameters
    ----------
    prompt
        The question.
    answer
        What came back, times from the start of listening. Notes are taken for a word or a place, too: by
        their relation, by their pitch.
    again
        How often the player heard the prompt again.

    Raises
    ------
    ValueError
        If the answer is of a form that cannot answer this prompt (moments for a note, a word for a rhythm).
    """
    match prompt.kind.form:
        case AnswerForm.NOTES:
            if isinstance(answer, HeardNotes | GivenNotes):
                return grade_notes(prompt, answer, again=again)
        case AnswerForm.ONSETS:
            if isinstance(answer, HeardOnsets):
                return grade_onsets(prompt, answer, again=again)
        case AnswerForm.NAME:
            if isinstance(answer, GivenName | HeardNotes | GivenNotes):
                return grade_name(prompt, answer, again=again)
        case AnswerForm.PLACES:
            if isinstance(answer, GivenPlaces | HeardNotes | GivenNotes):
                return grade_places(prompt, answer, again=again)
        case _:
            assert_never(prompt.kind.form)
    raise ValueError(f"{type(answer).__name__} does not answer a prompt of kind {prompt.kind}")
