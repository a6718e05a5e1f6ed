"""Two lines as the left hand sees them: tones to hold, moment by moment.

Before anything is fingered, unisons are merged and repeated pitches cut: two notes of the same pitch
struck together are one tone (as long as the longer), and a tone ends where its pitch is struck again.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction

from coach.music.pitch import MIDI_RANGE
from coach.music.tuning_system import OCTAVE
from coach.notation.arrangement import Arrangement
from coach.notation.line import LineKind
from coach.notation.note import Note


@dataclass(frozen=True, slots=True, order=True)
class NoteId:
    """A note of an arrangement: its line and its index there."""

    line: LineKind
    index: int


@dataclass(frozen=True, slots=True)
class Freedom:
    """Which single bass notes may be changed while the best fingering is looked for.

    Parameters
    ----------
    shorten
        Price in points a quarter note for letting a bass note go early; ``None`` forbids it.
    raised
        Price in points of one bass note an octave higher; ``None`` forbids it.
    beat
        A shortened note keeps at least this length, in quarters.
    """

    shorten: Fraction | None = None
    raised: Fraction | None = None
    beat: Fraction = Fraction(1)


AS_WRITTEN = Freedom()


@dataclass(frozen=True, slots=True)
class Tone:
    """A pitch that is stopped once and held: one note, or a unison of both lines.

    Parameters
    ----------
    onset, end
        In quarters; the end is where the hand may let go, which a repeated pitch brings forward.
    midi
        Sounding pitch.
    notes
        The one or two notes it stands for.
    free_from
        From here on it may be let go early, at a price; ``None`` never.
    may_rise
        Whether it may be played an octave higher, at a price.
    """

    onset: Fraction
    end: Fraction
    midi: int
    notes: tuple[NoteId, ...]
    free_from: Fraction | None = None
    may_rise: bool = False

    def may_go_at(self, time: Fraction) -> bool:
        """Whether it may have been let go early by a musical time."""
        return self.free_from is not None and self.free_from <= time < self.end


@dataclass(frozen=True, slots=True)
class Moment:
    """An onset: the tones that sound then, by index, melody before bass; at most two."""

    time: Fraction
    tones: tuple[int, ...]
    struck: tuple[bool, ...]

    def held(self) -> tuple[int, ...]:
        """The tones that were struck before; at most one."""
        return tuple(tone for tone, new in zip(self.tones, self.struck, strict=True) if not new)


@dataclass(frozen=True, slots=True)
class Score:
    """All tones and moments of two lines, in order of time, and what may be changed at which price."""

    tones: tuple[Tone, ...]
    moments: tuple[Moment, ...]
    freedom: Freedom = field(default=AS_WRITTEN)

    @classmethod
    def of(cls, arrangement: Arrangement, freedom: Freedom = AS_WRITTEN) -> "Score":
        """Merge, cut and lay out the notes of an arrangement."""
        tones = [_freed(tone, freedom) for tone in _tones(arrangement)]
        return cls(tuple(tones), tuple(_moments(tones)), freedom)

    def transposed(self, semitones: int) -> "Score":
        """The same score higher or lower; it costs nothing here."""
        return replace(self, tones=tuple(replace(tone, midi=tone.midi + semitones) for tone in self.tones))

    def strictly(self, where: Iterable[int] = ()) -> "Score":
        """This score with no freedom but for the tones named."""
        kept = frozenset(where)
        return replace(
            self,
            tones=tuple(
                tone if index in kept else replace(tone, free_from=None, may_rise=False)
                for index, tone in enumerate(self.tones)
            ),
        )


def note_of(arrangement: Arrangement, note: NoteId) -> Note:
    """The written note."""
    return arrangement.line(note.line).notes[note.index]


def _tones(arrangement: Arrangement) -> list[Tone]:
    struck = sorted(
        ((note, NoteId(line.kind, index)) for line in arrangement.lines for index, note in enumerate(line)),
        key=lambda item: (item[0].onset, item[1].line is LineKind.BASS),
    )
    sung = {(note.onset, note.midi) for note in arrangement.melody}
    tones: list[Tone] = []
    sounding: list[int] = []
    for note, name in struck:
        sounding = [index for index in sounding if tones[index].end > note.onset]
        same = next((index for index in sounding if tones[index].midi == note.midi), None)
        if same is not None and tones[same].onset == note.onset:
            unison = tones[same]
            tones[same] = replace(unison, end=max(unison.end, note.end), notes=(*unison.notes, name))
            continue
        above = (note.onset, note.midi + OCTAVE) in sung
        rises = name.line is LineKind.BASS and same is None and not above
        if same is not None:
            tones[same] = replace(tones[same], end=note.onset, may_rise=False)
        sounding.append(len(tones))
        tones.append(Tone(note.onset, note.end, note.midi, (name,), note.onset, rises))
    return [_let_go(tone, arrangement) for tone in tones]


def _let_go(tone: Tone, arrangement: Arrangement) -> Tone:
    """Only a bass note may be shortened: a unison from where its melody note has ended."""
    if all(name.line is not LineKind.BASS for name in tone.notes):
        return replace(tone, free_from=None, may_rise=False)
    if len(tone.notes) == 1:
        return tone
    melody = next(name for name in tone.notes if name.line is LineKind.MELODY)
    return replace(tone, free_from=note_of(arrangement, melody).end, may_rise=False)


def _freed(tone: Tone, freedom: Freedom) -> Tone:
    free_from = None
    if freedom.shorten is not None and tone.free_from is not None:
        earliest = max(tone.free_from, tone.onset + freedom.beat)
        free_from = earliest if earliest < tone.end else None
    rises = tone.may_rise and freedom.raised is not None and tone.midi + OCTAVE <= MIDI_RANGE[1]
    return replace(tone, free_from=free_from, may_rise=rises)


def _moments(tones: list[Tone]) -> Iterator[Moment]:
    times = sorted({tone.onset for tone in tones})
    sounding: list[int] = []
    rest = 0
    order = sorted(range(len(tones)), key=lambda index: tones[index].onset)
    for time in times:
        sounding = [index for index in sounding if tones[index].end > time]
        while rest < len(order) and tones[order[rest]].onset == time:
            sounding.append(order[rest])
            rest += 1
        sounding.sort(key=lambda index: tones[index].notes[0].line is LineKind.BASS)
        yield Moment(time, tuple(sounding), tuple(tones[index].onset == time for index in sounding))
