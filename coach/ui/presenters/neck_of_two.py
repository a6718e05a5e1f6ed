"""The neck at one moment of a section: both notes, their other places, what is out of reach."""

from fractions import Fraction

from coach.fretboard import FingeredNote, PlaceOption
from coach.music.naming import screen_name
from coach.notation import LineKind, Place
from coach.practice.settings import Settings
from coach.sessions.piece.neck_exploring import Exploring
from coach.ui.presenters.drawn import NeckNote, NeckView, OtherPlace
from coach.ui.presenters.neck_words import note_words, place_words
from coach.ui.presenters.piece_view import NECK_FRETS, string_names
from coach.ui.presenters.together_view import NoteChoice

REMARKS = {None: "open", 1: "first finger", 2: "second finger", 3: "third finger", 4: "little finger"}
PLUCKED = {"p": "thumb", "i": "index finger", "m": "middle finger", "a": "ring finger"}
"""The right hand's letters (common practice), which the sheet shows, in words."""


def neck_of_two(
    shown: Exploring | None, time: Fraction, chosen: LineKind, settings: Settings, capo: int
) -> NeckView:
    """Both notes with their fingers, held ones as held; other places hollow or hatched with the mm.

    Parameters
    ----------
    shown
        The way that is looked at; ``None`` gives an empty neck.
    time
        The moment, in quarters.
    chosen
        The line of the note in question.
    capo
        For the empty neck.
    """
    if shown is None:
        return NeckView(string_names(settings, capo), capo=capo, frets=NECK_FRETS)
    neck, frets = shown.fingering.neck, max(NECK_FRETS, shown.fingering.highest_fret)
    notes, others = [], []
    for each in shown.sounding(time):
        name, place = screen_name(each.note.pitch, settings.naming), each.place
        held = each.note.onset < time
        at = (place.string, place.fret)
        hands = (each.finger, each.right_hand)
        notes.append(NeckNote(each.line, *at, name, *hands, held=held, chosen=each.line is chosen))
        others += [
            _other(each.line, option)
            for option in shown.options(each.name)
            if option.place != place and option.place.fret <= frets
        ]
    tuned = string_names(settings, neck.capo, neck.tuning)
    return NeckView(tuned, tuple(notes), tuple(others), neck.capo, frets, hand_at(shown, time))


def hand_at(shown: Exploring, time: Fraction) -> int | None:
    """Fret under the first finger at a musical time; ``None`` before the first note."""
    hands = [hand.position for hand in shown.fingering.hand if hand.onset <= time]
    return hands[-1] if hands else None


def _other(kind: LineKind, option: PlaceOption) -> OtherPlace:
    barred = option.extra is None
    mm = option.why_not.mm if barred and option.why_not is not None else None
    return OtherPlace(kind, option.place.string, option.place.fret, mm, barred)


def note_choice(shown: Exploring, note: FingeredNote, time: Fraction, settings: Settings) -> NoteChoice:
    """The note in question, with the fingers it can be played with."""
    held = " It is still held." if note.note.onset < time else ""
    words = f"{_upper(note_words(note, settings.naming))}: {fingers_words(note)}.{held}"
    kinds = tuple(each.line for each in shown.sounding(time))
    return NoteChoice(words, note.line, kinds, note.finger, shown.fingers(note.name))


def fingers_words(note: FingeredNote) -> str:
    """Both hands' fingers for a note."""
    return f"{REMARKS[note.finger]}, plucked with the {PLUCKED[note.right_hand]} ({note.right_hand})"


def refusal(note: FingeredNote, option: PlaceOption, settings: Settings, span_mm: float) -> str:
    """Why a note cannot go to a place; ``span_mm`` is the most that first and little finger can span."""
    name = screen_name(note.note.pitch, settings.naming)
    said = f"{name} cannot go to {place_words(option.place)}"
    why = option.why_not
    if why is None:
        return f"{said}."
    if why.mm is not None:
        more = (
            f", and this hand spans {span_mm:.0f} mm" if why.mm > span_mm else ", too far for those fingers"
        )
        return f"{said}: the fingers would be {why.mm:.0f} mm apart{more}."
    if len(why.notes) > 1:
        return f"{said}: both notes would need the same string."
    return f"{said}. {why.reason}"


def option_at(
    shown: Exploring, notes: tuple[FingeredNote, ...], place: Place
) -> tuple[FingeredNote, PlaceOption] | None:
    """The first of some notes that has another place there; one within reach goes first."""
    found = [
        (note, option)
        for note in notes
        for option in shown.options(note.name)
        if option.place == place and note.place != place
    ]
    within = [pair for pair in found if pair[1].extra is not None]
    return next(iter(within or found), None)


def _upper(said: str) -> str:
    return said[:1].upper() + said[1:]
