"""Why two lines cannot be played: smallest sets of notes in conflict, in a sentence each."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import combinations, product

from coach.fretboard.fingering import Conflict
from coach.fretboard.least import Fits, least_price
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
    """Every independent place where a score cannot be played as written, in order of time.

    Parameters
    ----------
    arrangement
        For the names of notes and bars.
    score
        Without any freedom.
    fits, wishes
        The neck, and what the player wants kept.

    Each conflict names a set of notes from which none can be left out; for sets of up to three notes no
    smaller set exists in the same run of held notes.
    """
    found: list[Conflict] = []
    left = set(range(len(score.tones)))
    while True:
        part = _only(score, left)
        least = least_price(part, fits, wishes)
        if least.stuck is None:
            return tuple(found)
        run = _run(part, least.stuck)
        smallest = _smallest(part, run, fits, wishes)
        found.append(_explained(arrangement, score, smallest, fits, wishes))
        left.discard(max(smallest, key=lambda tone: (score.tones[tone].onset, tone)))


def _only(score: Score, kept: Iterable[int]) -> Score:
    """The score of some of its tones; their numbers stay."""
    wanted = set(kept)
    moments = []
    for moment in score.moments:
        pairs = [(tone, new) for tone, new in zip(moment.tones, moment.struck, strict=True) if tone in wanted]
        if any(new for _, new in pairs):
            moments.append(
                Moment(moment.time, tuple(tone for tone, _ in pairs), tuple(new for _, new in pairs))
            )
    return replace(score, moments=tuple(moments))


def _run(score: Score, stuck: int) -> tuple[int, ...]:
    """The tones of the run of held notes that leads to a moment, the latest last."""
    first = stuck
    while first > 0 and score.moments[first].held():
        first -= 1
    tones: dict[int, None] = {}
    for moment in score.moments[first : stuck + 1]:
        tones.update(dict.fromkeys(moment.tones))
    return tuple(tones)


def _smallest(score: Score, run: tuple[int, ...], fits: Fits, wishes: Wishes) -> tuple[int, ...]:
    kept = list(run)
    for tone in run:
        fewer = [other for other in kept if other != tone]
        if not _playable(score, fewer, fits, wishes):
            kept = fewer
    for size in range(1, min(len(kept), _LARGEST_LISTED + 1)):
        for few in combinations(run, size):
            if not _playable(score, few, fits, wishes):
                return few
    return tuple(kept)


def _playable(score: Score, tones: Iterable[int], fits: Fits, wishes: Wishes) -> bool:
    return least_price(_only(score, tones), fits, wishes).price is not None


def _explained(
    arrangement: Arrangement, score: Score, tones: tuple[int, ...], fits: Fits, wishes: Wishes
) -> Conflict:
    onset = max(score.tones[tone].onset for tone in tones)
    names = tuple(name for tone in tones for name in score.tones[tone].notes)
    found = [score.tones[tone] for tone in tones]
    said = _listed([_called(arrangement, tone) for tone in found])
    if len(found) == 1:
        return Conflict(onset, names, _sentence(said, _unreachable(found[0], fits)))
    stretch = _stretch(found, fits, wishes)
    if _playable(score, tones, Fits(fits.neck), NO_WISHES):
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
        return "cannot be played at the place or with the finger you asked for"
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
