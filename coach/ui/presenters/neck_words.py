"""What a way to play means for the hand, in words: what a move costs, how ways differ, how hard a bar is."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence

from coach.fretboard import BarDifficulty, FingeredNote, Fingering, HandAt
from coach.music.naming import Naming, screen_name
from coach.notation import Arrangement, LineKind, Place
from coach.ui.presenters.piece_view import SCREEN_WORD

SAME_POINTS = 0.05
"""Differences up to this are none: less than half a fret."""
LITTLE_POINTS, MUCH_POINTS = 2.0, 8.0
"""Up to a move of the hand is a little, from four moves on much. From no source, as the points are."""
REACH_MM = 8.0
"""A reach is told when it grows by more than this: about the width of a fingertip. From memory."""
NAMED = 2
"""So many differences are named; further ones are counted."""


def cost_words(before: Fingering, after: Fingering, arrangement: Arrangement, moved: int = 1) -> str:
    """What one way costs or spares against the one before it.

    Parameters
    ----------
    before, after
        Two fingerings of the same lines.
    arrangement
        The lines, for the numbers of bars.
    moved
        How many notes the player moved: others that moved with them are counted.
    """
    costs, spares = _gained(before, after, arrangement), _gained(after, before, arrangement)
    points = after.cost - before.cost
    if abs(points) <= SAME_POINTS and not (costs or spares):
        said = "That is just as easy."
    elif points > 0:
        said = f"That costs {_listed(costs)}." if costs else f"That is {degree(points)}."
        said = f"{said[:-1]}, and spares {_listed(spares)}." if spares and costs else said
    else:
        said = f"That is easier by {_listed(spares)}." if spares else f"That is {degree(points)}."
        said = f"{said[:-1]}, but costs {_listed(costs)}." if costs else said
    others = sum(a.place != b.place for a, b in _pairs(before, after)) - moved
    if others > 0:
        said += " Another note moves with it." if others == 1 else f" {others} other notes move with it."
    return said


def degree(points: float) -> str:
    """How much easier or harder, in words."""
    if abs(points) <= SAME_POINTS:
        return "just as easy"
    word = "harder" if points > 0 else "easier"
    if abs(points) <= LITTLE_POINTS:
        return f"a little {word}"
    return word if abs(points) < MUCH_POINTS else f"much {word}"


def way_words(fingering: Fingering, easiest: Fingering, arrangement: Arrangement, naming: Naming) -> str:
    """One of the best ways in a sentence: the easiest as it is, another by how it differs."""
    if fingering is easiest:
        return f"The easiest: {_feel(fingering)}"
    said = [
        _other(new, arrangement, naming, place=new.place != old.place)
        for old, new in _pairs(easiest, fingering)
        if (old.place, old.finger) != (new.place, new.finger)
    ]
    more = f", and {len(said) - NAMED} more" if len(said) > NAMED else ""
    much = degree(fingering.cost - easiest.cost)
    return f"{_upper('; '.join(said[:NAMED]))}{more}: {much}"


def bar_words(bar: BarDifficulty) -> str:
    """How hard a bar is, with what makes it so."""
    name = f"Bar {bar.bar}" if bar.bar else "The upbeat"
    reasons = f": {', '.join(bar.reasons)}" if bar.reasons else ""
    return f"{name} is {bar.word}{reasons}."


def note_words(note: FingeredNote, naming: Naming) -> str:
    """A note as it is played: ``the tune's G on string 1, fret 3``."""
    name = screen_name(note.note.pitch, naming)
    return f"the {SCREEN_WORD[note.line]}'s {name} on {place_words(note.place)}"


def place_words(place: Place) -> str:
    """A place in words."""
    return f"open string {place.string}" if not place.fret else f"string {place.string}, fret {place.fret}"


def _other(note: FingeredNote, arrangement: Arrangement, naming: Naming, *, place: bool) -> str:
    name, bar = screen_name(note.note.pitch, naming), arrangement.bar_of(note.note.onset)
    line = "bass " if note.line is LineKind.BASS else ""
    where = f"{line}{name} in bar {bar}" if bar else f"{line}{name} in the upbeat"
    if place or note.finger is None:
        return f"{where} on {place_words(note.place)}"
    return f"{where} with finger {note.finger}"


def _feel(fingering: Fingering) -> str:
    shifts, highest = sum(hand.shifted for hand in fingering.hand), fingering.highest_fret
    moves = {0: "the hand stays", 1: "the hand moves once"}.get(shifts, f"the hand moves {shifts} times")
    return f"{moves}, up to fret {highest}" if highest else "on open strings"


def _gained(before: Fingering, after: Fingering, arrangement: Arrangement) -> list[str]:
    """What the hand has to do in the second one and not in the first."""
    found = []
    for what, does in _DEEDS:
        new = _bars(after, arrangement, does) - _bars(before, arrangement, does)
        if new:
            found.append(f"{what} at {_bar_list(sorted(new))}")
    if found:
        return found
    asking = after.neck.reach.asking_fret
    heights = [_highest(fingering, arrangement) for fingering in (before, after)]
    higher = {bar: fret for bar, fret in heights[1].items() if fret > max(asking, heights[0].get(bar, 0))}
    if higher:
        bar = max(higher, key=lambda each: higher[each])
        return [f"going up to fret {higher[bar]} at {_bar_list([bar])}"]
    reaches = [_widest(fingering, arrangement) for fingering in (before, after)]
    wider = {bar: mm for bar, mm in reaches[1].items() if mm - reaches[0].get(bar, 0.0) > REACH_MM}
    if wider:
        bar = max(wider, key=lambda each: wider[each])
        return [f"a reach of {wider[bar]:.0f} mm at {_bar_list([bar])}"]
    return []


_DEEDS: Sequence[tuple[str, Callable[[HandAt], bool]]] = (
    ("a shift", lambda hand: hand.shifted),
    ("a barre", lambda hand: hand.barre),
)


def _bars(fingering: Fingering, arrangement: Arrangement, does: Callable[[HandAt], bool]) -> Counter[int]:
    return Counter(arrangement.bar_of(hand.onset) for hand in fingering.hand if does(hand))


def _highest(fingering: Fingering, arrangement: Arrangement) -> dict[int, int]:
    found: dict[int, int] = {}
    for note in fingering.notes:
        bar = arrangement.bar_of(note.note.onset)
        found[bar] = max(found.get(bar, 0), note.place.fret)
    return found


def _widest(fingering: Fingering, arrangement: Arrangement) -> dict[int, float]:
    found: dict[int, float] = {}
    for hand in fingering.hand:
        bar = arrangement.bar_of(hand.onset)
        found[bar] = max(found.get(bar, 0.0), hand.spread_mm)
    return found


def _pairs(one: Fingering, other: Fingering) -> Iterable[tuple[FingeredNote, FingeredNote]]:
    others = {note.name: note for note in other.notes}
    return [(note, others[note.name]) for note in one.notes if note.name in others]


def _bar_list(bars: Sequence[int]) -> str:
    words = [f"bar {bar}" if bar else "the upbeat" for bar in bars]
    return _listed(words) if len(words) <= NAMED else f"{len(words)} bars"


def _listed(said: Sequence[str]) -> str:
    return f"{', '.join(said[:-1])} and {said[-1]}" if len(said) > 1 else "".join(said)


def _upper(said: str) -> str:
    return said[:1].upper() + said[1:]
