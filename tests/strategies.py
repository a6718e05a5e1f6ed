"""Hypothesis strategies for musical values."""

from fractions import Fraction

from hypothesis import strategies as st

from coach.music.key import Key, Mode
from coach.music.meter import Meter
from coach.notation import Arrangement, Line, LineKind, Note, Place, Section

WORDS = st.text(st.characters(exclude_categories=("Cc", "Cs", "Cn", "Z")), min_size=1, max_size=12)


def keys() -> st.SearchStrategy[Key]:
    """All keys of at most seven sharps or flats."""
    return st.builds(Key.of_fifths, st.integers(-7, 7), st.sampled_from(Mode))


def meters() -> st.SearchStrategy[Meter]:
    """Meters that a first piece may have, and some odd ones."""
    texts = ("2/4", "3/4", "4/4", "5/4", "2/2", "3/8", "6/8", "7/8", "9/8", "12/8", "6/16")
    return st.sampled_from(texts).map(Meter.parse)


@st.composite
def lines(draw: st.DrawFn, kind: LineKind, key: Key, *, places: bool = True, most: int = 12) -> Line:
    """A monophonic line on one of the allowed grids, spelled in a key."""
    grid = draw(st.sampled_from((1, 2, 3, 4, 6, 8, 12, 16)))
    count = draw(st.integers(0, most))
    now = 0
    notes = []
    for _ in range(count):
        now += draw(st.integers(0, 2))
        length = draw(st.integers(1, 3 * grid))
        place = draw(st.none() | st.builds(Place, st.integers(1, 6), st.integers(0, 15))) if places else None
        notes.append(
            Note(
                Fraction(now, grid),
                Fraction(length, grid),
                key.spell(draw(st.integers(36, 88))),
                place,
                draw(st.none() | WORDS) if places else None,
            )
        )
        now += length
    return Line(kind, tuple(notes))


@st.composite
def arrangements(draw: st.DrawFn, *, places: bool = True, most: int = 12) -> Arrangement:
    """Two lines with everything that can stand beside them."""
    key = draw(keys())
    meter = draw(meters())
    step = Fraction(1, draw(st.sampled_from((1, 2, 3, 4))))
    pickup = draw(st.integers(0, int(meter.bar / step))) * step
    onsets = sorted(draw(st.sets(st.integers(0, 40), max_size=3)))
    return Arrangement(
        title=draw(WORDS),
        meter=meter,
        key=key,
        tempo_bpm=draw(st.integers(30, 240) | st.sampled_from((66.5, 92.25))),
        melody=draw(lines(LineKind.MELODY, key, places=places, most=most)),
        bass=draw(lines(LineKind.BASS, key, places=places, most=most)),
        pickup=pickup if pickup < meter.bar else Fraction(0),
        capo=draw(st.integers(0, 9)),
        sections=tuple(Section(draw(WORDS), Fraction(onset, 2)) for onset in onsets),
    )


@st.composite
def two_lines(draw: st.DrawFn, *, most: int = 10) -> Arrangement:
    """A melody over a bass in and around the guitar's range: lines may cross, meet, and be out of reach."""
    key = draw(keys())
    found = {}
    for kind, low, high in ((LineKind.MELODY, 50, 84), (LineKind.BASS, 34, 62)):
        grid = draw(st.sampled_from((1, 2, 3, 4)))
        now = 0
        notes = []
        for _ in range(draw(st.integers(0, most))):
            now += draw(st.integers(0, 1))
            length = draw(st.integers(1, 3 * grid))
            pitch = key.spell(draw(st.integers(low, high)))
            notes.append(Note(Fraction(now, grid), Fraction(length, grid), pitch))
            now += length
        found[kind] = Line(kind, tuple(notes))
    meter = draw(st.sampled_from(("2/4", "3/4", "4/4", "6/8")).map(Meter.parse))
    return Arrangement(
        "two lines",
        meter,
        key,
        80,
        found[LineKind.MELODY],
        found[LineKind.BASS],
        capo=draw(st.integers(0, 7)),
    )
