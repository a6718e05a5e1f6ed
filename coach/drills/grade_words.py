"""Grading words and places: chosen with a finger, or answered with two notes that say the same."""

from coach.drills.answers import GivenName, GivenNotes, GivenPlaces, HeardNotes, one_spelling
from coach.drills.grade import Grade, graded
from coach.drills.grade_notes import note_credit
from coach.drills.items import interval_of_semitones
from coach.drills.kinds import By, Kind, Rule
from coach.drills.prompt import ExpectedName, ExpectedPlace, Prompt
from coach.drills.solid import solid_notes
from coach.notation.note import Place

_SAME_CENTS = 60.0
_STEP_SEMITONES = 2.5


def grade_name(prompt: Prompt, answer: GivenName | HeardNotes | GivenNotes, *, again: int = 0) -> Grade:
    """Grade a word; two notes count as the word for their relation (the tune went up, skipped, a fifth)."""
    wanted = next(one.name for one in prompt.expected if isinstance(one, ExpectedName))
    if isinstance(answer, GivenName):
        given, answer_s = answer.name, answer.answer_s
    else:
        pitches, answer_s = _pitches(prompt, answer, 2)
        given = _relation(prompt.kind, pitches)
    credit = float(one_spelling(given) == one_spelling(wanted))
    return graded(credit, measure=prompt.measure, answer_s=answer_s, again=again)


def grade_places(prompt: Prompt, answer: GivenPlaces | HeardNotes | GivenNotes, *, again: int = 0) -> Grade:
    """Grade touched places; a played (or sung) note counts by its pitch, as no one can hear its string."""
    wanted = {Place(one.string, one.fret) for one in prompt.expected if isinstance(one, ExpectedPlace)}
    if isinstance(answer, GivenPlaces):
        given = set(answer.places)
        wrong = len(given - wanted - set(prompt.shown))
        credit = max(0.0, len(given & wanted) - wrong) / len(wanted)
        return graded(credit, measure=prompt.measure, answer_s=answer.answer_s, again=again)
    pitches, answer_s = _pitches(prompt, answer, 1)
    rule = Rule.ANY_OCTAVE if prompt.by is By.VOICE else Rule.EXACT
    limit = prompt.measure.cents if prompt.by is By.VOICE else 50.0
    credit = note_credit(prompt.sounding[0], pitches[0], rule, limit) if pitches else 0.0
    return graded(credit, measure=prompt.measure, answer_s=answer_s, again=again)


def _pitches(
    prompt: Prompt, answer: HeardNotes | GivenNotes, wanted: int
) -> tuple[list[float], float | None]:
    if isinstance(answer, GivenNotes):
        return [float(midi) for midi in answer.midis], None
    solid = solid_notes(answer.notes, prompt.by, wanted)
    sung = prompt.by is By.VOICE
    pitches = [note.midi + (note.cents / 100.0 if sung else 0.0) for note in solid]
    return pitches, solid[0].span.start_s if solid else None


def _relation(kind: Kind, pitches: list[float]) -> str:
    """The word for the step between two notes; an empty one for anything but two notes."""
    if len(pitches) != 2:
        return ""
    move = pitches[1] - pitches[0]
    same = abs(move) * 100.0 < _SAME_CENTS
    if kind is Kind.SAME_HIGHER_LOWER:
        return "same" if same else ("higher" if move > 0 else "lower")
    if kind is Kind.STEP_SKIP_REPEAT:
        return "repeat" if same else ("step" if abs(move) < _STEP_SEMITONES else "skip")
    size = round(abs(move))
    return interval_of_semitones(size).short_name if 1 <= size <= 16 else ""
