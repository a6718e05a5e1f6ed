"""What the player wants kept, in words: each wish, and why some cannot be kept together."""

from collections.abc import Sequence
from typing import assert_never

from coach.fretboard import NoteWish
from coach.fretboard.wishes import BelowFret, NoBarre, Wish
from coach.music.naming import Naming, screen_name
from coach.notation import Arrangement
from coach.ui.presenters.neck_words import place_words
from coach.ui.presenters.piece_view import SCREEN_WORD
from coach.ui.presenters.together_view import beat_words


def wish_words(wish: Wish, arrangement: Arrangement, naming: Naming) -> str:
    """One wish: ``below fret 5``, ``finger 3 on the tune's G, bar 1, beat 2``."""
    match wish:
        case BelowFret(fret=fret):
            return f"below fret {fret}"
        case NoBarre():
            return "no barre"
        case NoteWish(note=name, place=place, finger=finger):
            note = arrangement.line(name.line).notes[name.index]
            where = beat_words(arrangement, note.onset)
            called = f"the {SCREEN_WORD[name.line]}'s {screen_name(note.pitch, naming)}"
            called += f", {where[:1].lower()}{where[1:]}"
            if place is not None:
                return f"{called}, on {place_words(place)}"
            return f"finger {finger} on {called}"
    assert_never(wish)


def clash_words(said: Sequence[str]) -> str:
    """Why some wishes (one at least), in words, cannot be kept together, and what to do: one sentence."""
    *several, last = [f"“{words}”" for words in (f"{said[0][:1].upper()}{said[0][1:]}", *said[1:])]
    if not several:
        return f"{last} cannot be kept with these lines as they are: let go of it, or take a change."
    count = "both" if len(several) == 1 else "all"
    return f"{', '.join(several)} and {last} cannot {count} be kept: let go of one."
