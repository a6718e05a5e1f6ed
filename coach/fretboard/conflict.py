"""Why two lines cannot be played: smallest sets of notes in conflict, in a sentence each."""

from collections.abc import Iterable, Iterator
from itertools import combinations, product

from coach.fretboard.fingering import Conflict
from coach.fretboard.least import Fits, Walk
from coach.fretboard.score import Moment, Score, Tone, note_of
from coach.fretboard.stops import Stop
from coach.fretboard.wishes import NO_WISHES, Wishes
from coach.notation.arrangement import Arrangement
from coach.notation.line import LineKind

_LARGEST_LISTED = 3
"""Sets up to this size are tried one by one; larger ones are only thinned out."""


def conflicts(
    arrangement: Arrangement, score: Score, fits: Fits, wishes: Wishes = NO_WISHES
) -> tuple[Conflict, ...]:
    """Every place where a score cannot be played as written, in order of time.

    Parameters
    ----------
    arrangement
        For the names of notes and bars.
    score
        Without any freedom.
    fits, wishes
        The neck, and what the player wants kept.

    Each conflict names a set of notes from which none can be left out; for sets of up to three notes no
    smaller set exists among those that lead there. Its latest note is then left out, and the search goes on.
    """
    found: list[Conflict] = []
    taken: list[Moment] = []
    walk = Walk(score, fits, wishes)
    dropped: set[int] = set()
    for whole in score.moments:
        moment = _without(whole, dropped)
        while moment is not None:
            ahead = walk.copy()
            if ahead.take(moment):
                walk = ahead
                taken.append(moment)
                break
            window = _window(score, taken, moment, fits, wishes)
            smallest = _smallest(score, window, fits, wishes)
            found.append(_explained(arrangement, score, window, smallest, fits, wishes))
            dropped.add(max(smallest, key=lambda tone: (score.tones[tone].onset, tone)))
            moment = _without(whole, dropped)
    return tuple(found)


def _without(moment: Moment, dropped: set[int]) -> Moment | None:
    """The moment less some tones; ``None`` if nothing is struck then."""
    pairs = [
        (tone, new) for tone, new in zip(moment.tones, moment.struck, strict=True) if tone not in dropped
    ]
    if not any(new for _, new in pairs):
        return None
    return Moment(moment.time, tuple(tone for tone, _ in pairs), tuple(new for _, new in pairs))


def _window(score: Score, taken: list[Moment], moment: Moment, fits: Fits, wishes: Wishes) -> list[Moment]:
    """The moment with the last few before it, as few as twice what is needed to be unplayable."""
    before = 0
    while before < len(taken) and _passes(score, [*_last(taken, before), moment], fits, wishes):
        before = 2 * before + 1
    return [*_last(taken, before), moment]


def _last(moments: list[Moment], count: int) -> list[Moment]:
    return moments[max(0, len(moments) - count) :]


def _passes(score: Score, moments: list[Moment], fits: Fits, wishes: Wishes) -> bool:
    """Whether some moments can be played; what was held into the first of them counts as struck there."""
    first, *others = moments
    fresh = Moment(first.time, first.tones, (True,) * len(first.tones))
    walk = Walk(score, fits, wishes)
    return all(walk.take(moment) for moment in (fresh, *others))


def _smallest(score: Score, window: list[Moment], fits: Fits, wishes: Wishes) -> tuple[int, ...]:
    tones = tuple(dict.fromkeys(tone for moment in window for tone in moment.tones))
    kept = list(tones)
    for tone in tones:
        fewer = [other for other in kept if other != tone]
        if not _playable(score, window, fewer, fits, wishes):
            kept = fewer
    for size in range(1, min(len(kept), _LARGEST_LISTED + 1)):
        for few in combinations(tones, size):
            if not _playable(score, window, few, fits, wishes):
                return few
    return tuple(kept)


def _playable(score: Score, window: list[Moment], tones: Iterable[int], fits: Fits, wishes: Wishes) -> bool:
    """Whether the tones alone can be played."""
    wanted = set(tones)
    others = {tone for moment in window for tone in moment.tones if tone not in wanted}
    first, *rest = window
    fresh = Moment(first.time, first.tones, (True,) * len(first.tones))
    moments = [left for moment in (fresh, *rest) if (left := _without(moment, others)) is not None]
    return not moments or _passes(score, moments, fits, wishes)


def _explained(
    arrangement: Arrangement,
    score: Score,
    window: list[Moment],
    tones: tuple[int, ...],
    fits: Fits,
    wishes: Wishes,
) -> Conflict:
    onset = max(score.tones[tone].onset for tone in tones)
    names = tuple(name for tone in tones for name in score.tones[tone].notes)
    found = [score.tones[tone] for tone in tones]
    said = _listed([_called(arrangement, tone) for tone in found])
    if len(found) == 1:
        return Conflict(onset, names, _sentence(said, _unreachable(found[0], fits)))
    stretch = _stretch(found, fits, wishes)
    if wishes != NO_WISHES and _playable(score, window, tones, Fits(fits.neck), NO_WISHES):
        mm, frets = (None, None) if stretch is None else (round(stretch[0], 1), stretch[1])
        kept = _sentence(said, "cannot be played with what you asked to keep")
        return Conflict(onset, names, kept, mm, frets)
    if stretch is None:
        return Conflict(onset, names, _sentence(said, "would need the same string at the same time"))
    mm, frets = stretch
    return Conflict(onset, names, _sentence(said, _too_far(mm, frets, found, fits)), round(mm, 1), frets)


def _too_far(mm: float, frets: int, tones: list[Tone], fits: Fits) -> str:
    limit_mm = fits.neck.reach.spans.index_little
    held = " with the strings that the held notes leave" if len(tones) > 2 else ""
    if mm > limit_mm:
        apart = f"lie at least {mm:.0f} mm ({_frets(frets)}) apart{held}"
        return f"{apart}; this hand spans {limit_mm:.0f} mm at most"
    return f"lie {mm:.0f} mm ({_frets(frets)}) apart{held}, where no two fingers of this hand span that far"


def _kept_stops(tone: Tone, fits: Fits, wishes: Wishes) -> tuple[Stop, ...]:
    """The stops of a tone that some position reaches and the wishes allow."""
    found = fits.ways(tone)
    kept = wishes.allowed(tone, found)
    alone = fits.alone(tone)
    return tuple(
        way.stop for bit, (way, ok) in enumerate(zip(found, kept, strict=True)) if ok and alone >> bit & 1
    )


def _unreachable(tone: Tone, fits: Fits) -> str:
    neck = fits.neck
    if tone.midi < neck.lowest_midi:
        return f"lies {_frets(neck.lowest_midi - tone.midi)} below the lowest string"
    if tone.midi > neck.highest_midi:
        return f"lies {_frets(tone.midi - neck.highest_midi)} above the highest note within reach"
    if _kept_stops(tone, fits, NO_WISHES):
        return "cannot be played at the place, with the finger or below the fret you asked for"
    return "is on no string within this hand's reach"


def _stretch(tones: list[Tone], fits: Fits, wishes: Wishes) -> tuple[float, int] | None:
    """The least distance over all choices of strings: of the notes that sound together, the widest pair."""
    best: tuple[float, int] | None = None
    pairs = [(a, b) for a, b in combinations(range(len(tones)), 2) if _meet(tones[a], tones[b])]
    places = [sorted({stop[:2] for stop in _kept_stops(tone, fits, wishes)}) for tone in tones]
    for chosen in product(*places):
        stops = [Stop(string, fret, 0) for string, fret in chosen]
        if any(stops[a].string == stops[b].string for a, b in pairs):
            continue
        widest = max(_distances(stops, pairs, fits), default=(0.0, 0))
        if best is None or widest < best:
            best = widest
    return best


def _distances(stops: list[Stop], pairs: list[tuple[int, int]], fits: Fits) -> Iterator[tuple[float, int]]:
    for a, b in pairs:
        if stops[a].fret and stops[b].fret:
            yield fits.neck.apart_mm(stops[a], stops[b]), abs(stops[a].fret - stops[b].fret)


def _meet(one: Tone, other: Tone) -> bool:
    return one.onset < other.end and other.onset < one.end


def _called(arrangement: Arrangement, tone: Tone) -> str:
    line = "bass" if tone.notes[0].line is LineKind.BASS else "melody"
    note = note_of(arrangement, tone.notes[0])
    bar = arrangement.bar_of(note.onset)
    where = f"bar {bar}" if bar else "the upbeat"
    return f"the {line} note {note.pitch.name} ({where})"


def _listed(said: list[str]) -> str:
    return f"{', '.join(said[:-1])} and {said[-1]}" if len(said) > 1 else said[0]


def _sentence(who: str, what: str) -> str:
    return f"{who[0].upper()}{who[1:]} {what}."


def _frets(count: int) -> str:
    return "1 fret" if count == 1 else f"{count} frets"
