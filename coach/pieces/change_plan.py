"""Changes to the whole piece: register, octave, tuning, key, capo."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import product

from coach.fretboard import Neck, Tuning
from coach.music.pitch import MIDI_RANGE
from coach.music.tuning_system import OCTAVE
from coach.notation.arrangement import MAX_CAPO, Arrangement
from coach.notation.line import Line, LineKind
from coach.notation.note import Note
from coach.pieces.change_kinds import PRICES, Change, ChangeKind

LOWERED = 2
"""Semitones by which string 6 is let down: a tone, to D in the standard tuning."""
FURTHEST_KEY = 6
"""Keys up to this many semitones away are tried; further ones are nearer from the other side."""
FURTHEST_CAPO = 7
"""Above this fret a capo leaves too little neck. Common practice, no source."""
_OCTAVES = (0, -1, 1, -2, 2, -3, 3)


@dataclass(frozen=True, slots=True)
class Register:
    """How far whole lines are moved into the guitar's range, in octaves."""

    melody: int = 0
    bass: int = 0

    def paid(self, plan: "Plan") -> tuple[int, int]:
        """Octaves of melody and bass that a plan has to pay for: none where it only undoes the register."""
        melody = 0 if plan.melody == -self.melody else abs(plan.melody)
        return melody, 0 if plan.bass == -self.bass else abs(plan.bass)


@dataclass(frozen=True, slots=True)
class Plan:
    """Changes to the whole piece, on top of the register.

    Parameters
    ----------
    melody, bass
        Octaves by which a line is moved.
    lowered
        Whether string 6 is let down a tone.
    semitones
        Transposition.
    capo
        Fret of the capo.
    """

    melody: int = 0
    bass: int = 0
    lowered: bool = False
    semitones: int = 0
    capo: int = 0

    def price(self, given_capo: int, register: Register) -> Fraction:
        """Points for all of it, on top of a register that costs nothing."""
        away = abs(self.capo - given_capo)
        melody, bass = register.paid(self)
        return (
            PRICES.melody_octave * melody
            + PRICES.bass_octave * bass
            + PRICES.lower_string_6 * self.lowered
            + (PRICES.transpose * (self.semitones != 0) + PRICES.transpose_fret * abs(self.semitones))
            + (PRICES.capo * (away > 0) + PRICES.capo_fret * away)
        )

    def adds_to(self, other: "Plan", given_capo: int) -> bool:
        """Whether all that the other plan changes is changed here in the same way, and perhaps more."""
        return (
            other.melody in {0, self.melody}
            and other.bass in {0, self.bass}
            and (self.lowered or not other.lowered)
            and other.semitones in {0, self.semitones}
            and other.capo in {given_capo, self.capo}
        )

    def tuned(self, tuning: Tuning) -> Tuning:
        """The tuning with string 6 let down, if it is."""
        return tuning.lowered(6, LOWERED) if self.lowered else tuning


def plans(given_capo: int, register: Register) -> list[Plan]:
    """Every plan, the cheapest first; the first one changes nothing more."""
    capos = sorted({given_capo, *range(min(FURTHEST_CAPO, MAX_CAPO) + 1)})
    keys = range(-FURTHEST_KEY, FURTHEST_KEY + 1)
    melodies = dict.fromkeys((0, -1, 1, -register.melody))
    basses = dict.fromkeys((0, 1, -register.bass))
    found = [Plan(*choice) for choice in product(melodies, basses, (False, True), keys, capos)]
    return sorted(found, key=lambda plan: plan.price(given_capo, register))


def register_for(arrangement: Arrangement, neck: Neck) -> Register:
    """The octaves that bring most notes of each line onto the neck; the smallest move among equals."""
    melodies = [octaves for octaves in _OCTAVES if in_range(arrangement, Plan(melody=octaves))]
    basses = [octaves for octaves in _OCTAVES if octaves >= 0 and in_range(arrangement, Plan(bass=octaves))]
    return Register(
        melody=min(melodies, key=lambda octaves: _off_neck(arrangement.melody, octaves, neck)),
        bass=min(basses, key=lambda octaves: _off_neck(arrangement.bass, octaves, neck)),
    )


def in_register(arrangement: Arrangement, register: Register) -> Arrangement:
    """The arrangement with its lines moved; places that no longer hold are dropped."""
    melody = _moved(arrangement.melody, register.melody)
    return arrangement.with_line(melody).with_line(_moved(arrangement.bass, register.bass))


def carried_out(arrangement: Arrangement, plan: Plan) -> Arrangement:
    """The arrangement as a plan leaves it (the tuning is not part of an arrangement)."""
    moved = in_register(arrangement, Register(plan.melody, plan.bass))
    if plan.semitones:
        key = arrangement.key.transposed(plan.semitones)
        for line in moved.lines:
            notes = (replace(note, pitch=key.spell(note.midi + plan.semitones), place=None) for note in line)
            moved = moved.with_line(Line.of(line.kind, notes))
        moved = replace(moved, key=key)
    return replace(moved, capo=plan.capo)


def whole_changes(register: Register, plan: Plan, arrangement: Arrangement) -> Iterator[Change]:
    """What the player is told about register and plan together; ``arrangement`` is the one before."""
    melody, bass = register.melody + plan.melody, register.bass + plan.bass
    paid_melody, paid_bass = register.paid(plan)
    if melody:
        price = PRICES.melody_octave * paid_melody
        yield Change(ChangeKind.MELODY_OCTAVE, f"the melody {octaves_words(melody)}", price, LineKind.MELODY)
    if bass:
        price = PRICES.bass_octave * paid_bass
        yield Change(ChangeKind.BASS_OCTAVE, f"the bass {octaves_words(bass)}", price, LineKind.BASS)
    if plan.lowered:
        yield Change(ChangeKind.LOWER_STRING_6, "string 6 tuned a tone lower", PRICES.lower_string_6)
    if plan.semitones:
        yield _key_change(plan.semitones, arrangement)
    if plan.capo != arrangement.capo:
        away = abs(plan.capo - arrangement.capo)
        where = f"the capo on fret {plan.capo}" if plan.capo else "no capo"
        yield Change(ChangeKind.CAPO, where, PRICES.capo + PRICES.capo_fret * away)


def _key_change(semitones: int, arrangement: Arrangement) -> Change:
    way = "higher" if semitones > 0 else "lower"
    frets = "1 fret" if abs(semitones) == 1 else f"{abs(semitones)} frets"
    key = arrangement.key.transposed(semitones).name
    price = PRICES.transpose + PRICES.transpose_fret * abs(semitones)
    return Change(ChangeKind.TRANSPOSE, f"everything {frets} {way}, in {key}", price)


def octaves_words(octaves: int) -> str:
    """So many octaves up or down, in words."""
    count = {1: "an octave", 2: "two octaves", 3: "three octaves", 4: "four octaves"}[abs(octaves)]
    return f"{count} {'higher' if octaves > 0 else 'lower'}"


def in_range(arrangement: Arrangement, plan: Plan) -> bool:
    """Whether a plan leaves every note a MIDI note, which is far more than any neck has.

    That must hold after each of its steps: its octaves come first, its transposition then.
    """
    octaves = {LineKind.MELODY: plan.melody, LineKind.BASS: plan.bass}
    moved = (note.midi + OCTAVE * octaves[line.kind] for line in arrangement.lines for note in line)
    return all(
        MIDI_RANGE[0] <= midi + semitones <= MIDI_RANGE[1]
        for midi in moved
        for semitones in (0, plan.semitones)
    )


def _off_neck(notes: Iterable[Note], octaves: int, neck: Neck) -> tuple[int, int]:
    shift = OCTAVE * octaves
    off = sum(not neck.lowest_midi <= note.midi + shift <= neck.highest_midi for note in notes)
    return (off, abs(octaves))


def _moved(line: Line, octaves: int) -> Line:
    if not octaves:
        return line
    return Line.of(
        line.kind, (replace(note, pitch=note.pitch.octaves_higher(octaves), place=None) for note in line)
    )
