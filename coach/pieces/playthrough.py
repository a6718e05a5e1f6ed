"""A take graded against its arrangement: which notes were right, wrong, early, late or missing.

Each line is matched to the onsets in order by dynamic programming, so that a missing or an extra note shifts
nothing. A string that rings on begins nothing and is therefore never a fault.
"""

from collections.abc import Iterable, Sequence
from fractions import Fraction

from coach.errors import InputError
from coach.hearing.take import Beginning, TakeEvidence
from coach.notation.arrangement import Arrangement
from coach.notation.line import Line, LineKind
from coach.notation.note import Note
from coach.pieces.played import ExtraNote, PlayedNote, PlayThrough, Result
from coach.pieces.tempo_line import TempoLine, find_line

RIGHT_S = 0.08
"""Notes so near the straight line are in time (the product's own rule)."""
BEGINS, SURELY_BEGINS = 0.09, 0.4
"""An expected pitch begins where it rises by this share of what rises most. Measured on planted errors."""
OTHER = 0.2
"""An unexpected pitch that rises so much speaks against an expected one that hardly does. Measured."""
INSTEAD = 0.1
"""Where an expected note did not begin, so much is enough for another one in its place. Measured."""
FAINT = 0.02
"""Where so little rises, against the most in the take, a ringing string was struck again."""
EXTRA, EXTRA_LEVEL = 0.5, 0.08
"""An extra note is the strongest of its onset, and this strong in the take: fingers do squeak."""
STANDS_OUT_DB = {12: -4.5, 19: -2.5, 24: -3.0, 28: 2.5, 31: -5.0, 34: -3.0, 36: -3.0}
"""A note so many semitones over one struck with it hides among its overtones, and is there if these stand out
by so much. Measured on plucks and recorded strings, and set low: in doubt a note is right.
"""
CLEARLY_DB = 8.0
"""A pitch that nobody asked for has to stand out by so much more."""
SAME_S = 0.15
"""A note that begins between two close onsets rises at both."""
MOST_APART = 12
"""A wrong note lies at most an octave from the one that was meant, or else it is something else."""
_TIME_WEIGHT = 0.5


def grade(
    arrangement: Arrangement,
    heard: TakeEvidence,
    *,
    tempo_bpm: float | None = None,
    lines: Sequence[LineKind] = tuple(LineKind),
) -> PlayThrough:
    """Grade a take.

    Parameters
    ----------
    arrangement
        What was to be played.
    heard
        The take, see `coach.hearing.take.take_evidence`.
    tempo_bpm
        Quarter notes a minute; ``None`` takes the best fit between 40 and 110.
    lines
        Which lines were to be played.

    Raises
    ------
    InputError
        If the arrangement has no notes.
    """
    wanted = [arrangement.line(kind) for kind in lines if arrangement.line(kind).notes]
    if not wanted:
        raise InputError("There is nothing to play in this arrangement: write its lines first.")
    moments: dict[Fraction, tuple[int, ...]] = {}
    for note in (note for line in wanted for note in line):
        moments[note.onset] = (*moments.get(note.onset, ()), note.midi)
    tempo = find_line(moments, heard, tempo_bpm)
    if tempo is None:
        missing = (_played(arrangement, line.kind, note, Result.MISSING) for line in wanted for note in line)
        return PlayThrough(None, _in_order(missing))
    reach_s = float(arrangement.meter.beat) / 2 * tempo.quarter_s
    return _Matching(arrangement, wanted, heard, tempo, reach_s).graded()


class _Matching:
    """Two lines against one row of onsets."""

    def __init__(
        self,
        arrangement: Arrangement,
        wanted: Sequence[Line],
        heard: TakeEvidence,
        tempo: TempoLine,
        reach_s: float,
    ) -> None:
        self._arrangement, self._wanted, self._tempo, self._reach_s = arrangement, wanted, tempo, reach_s
        self._begun = heard.beginnings
        self._right: dict[tuple[LineKind, Fraction], int] = {}
        self._claimed: dict[int, set[int]] = {}

    def graded(self) -> PlayThrough:
        for line in self._wanted:
            self._match(line)
        notes = [self._note(line, index) for line in self._wanted for index in range(len(line))]
        return PlayThrough(self._tempo, _in_order(notes), self._extra())

    # --- right pitches ------------------------------------------------------------------------------------

    def _match(self, line: Line) -> None:
        """The best pairs of notes and onsets, both in order: dynamic programming over all prefixes."""
        count = len(self._begun)
        best = [[0.0] * (count + 1)]
        for index, note in enumerate(line.notes):
            row, above = [0.0], best[-1]
            for there in range(count):
                gain = self._gain(line, index, there) if self._reaches(note, there) else 0.0
                paired = above[there] + gain if gain > 0 else 0.0
                row.append(max(row[-1], above[there + 1], paired))
            best.append(row)
        there = count
        for index in range(len(line) - 1, -1, -1):
            while there and best[index + 1][there] == best[index + 1][there - 1]:
                there -= 1
            if there and best[index + 1][there] > best[index][there]:
                there -= 1
                note = line.notes[index]
                self._right[line.kind, note.onset] = there
                self._claimed.setdefault(there, set()).add(note.midi)

    def _reaches(self, note: Note, there: int) -> bool:
        return abs(self._begun[there].time_s - self._tempo.at(note.onset)) <= self._reach_s

    def _gain(self, line: Line, index: int, there: int) -> float:
        """What pairing a note with an onset is worth: 0 where its pitch does not begin there."""
        note, begun = line.notes[index], self._begun[there]
        off_s = abs(begun.time_s - self._tempo.at(note.onset))
        expected = self._expected(note.onset)
        rise = begun.of(note.midi) if begun.level >= FAINT else 0.0
        sure = min(1.0, rise / SURELY_BEGINS)
        if _contradicted(note.midi, begun, expected):
            return 0.0
        rang = index > 0 and line.notes[index - 1].midi == note.midi and begun.sounds(note.midi) >= BEGINS
        over = [lower for lower in expected if _hides(note.midi, lower) and begun.of(lower) >= BEGINS]
        if over and not rang and not all(_stands_out(begun, lower, note.midi) for lower in over):
            return 0.0
        if rise < BEGINS:
            # Among the other line's overtones, or struck again while it rang, a note rises little.
            if off_s > RIGHT_S or not (over or rang):
                return 0.0
            sure = 0.3
        return sure + _TIME_WEIGHT * (1.0 - off_s / self._reach_s)

    def _expected(self, onset: Fraction) -> set[int]:
        """The pitches that both lines strike at a musical time."""
        struck = (line.at(onset) for line in self._wanted)
        return {note.midi for note in struck if note is not None and note.onset == onset}

    # --- the rest -----------------------------------------------------------------------------------------

    def _note(self, line: Line, index: int) -> PlayedNote:
        note = line.notes[index]
        there = self._right.get((line.kind, note.onset))
        if there is not None:
            offset_s = self._begun[there].time_s - self._tempo.at(note.onset)
            return _played(
                self._arrangement, line.kind, note, _by_time(offset_s), offset_s=offset_s, midi=note.midi
            )
        instead = self._instead(note)
        if instead is None:
            return _played(self._arrangement, line.kind, note, Result.MISSING)
        there, midi = instead
        self._claimed.setdefault(there, set()).add(midi)
        offset_s = self._begun[there].time_s - self._tempo.at(note.onset)
        return _played(self._arrangement, line.kind, note, Result.WRONG, offset_s=offset_s, midi=midi)

    def _instead(self, note: Note) -> tuple[int, int] | None:
        """The onset and pitch that stand in the place of a note, nearest in time and then in pitch."""
        found = [
            (abs(self._begun[there].time_s - self._tempo.at(note.onset)), abs(midi - note.midi), there, midi)
            for there in range(len(self._begun))
            if self._reaches(note, there) and self._begun[there].level >= FAINT
            for midi in self._free(there, INSTEAD, among_overtones=self._in_time(note, there))
            if abs(midi - note.midi) <= MOST_APART
        ]
        best = min(found, default=None)
        return None if best is None else (best[2], best[3])

    def _in_time(self, note: Note, there: int) -> bool:
        return abs(self._begun[there].time_s - self._tempo.at(note.onset)) <= RIGHT_S

    def _free(self, there: int, least: float, *, among_overtones: bool = False) -> list[int]:
        """Pitches that begin at an onset and that no note has claimed.

        Overtones of claimed notes are left out, unless they stand out clearly and are looked for.
        """
        claimed = self._claimed_near(there)
        return [
            midi
            for midi, _ in self._begun[there].strongest(least)
            if midi not in claimed
            and not self._explained(midi, claimed, self._begun[there], in_any_case=not among_overtones)
        ]

    @staticmethod
    def _explained(midi: int, claimed: set[int], begun: Beginning, *, in_any_case: bool) -> bool:
        """Whether a pitch is but an overtone of what was played."""
        hidden = [lower for lower in claimed if _hides(midi, lower)]
        return any(in_any_case or not _stands_out(begun, lower, midi, more_db=CLEARLY_DB) for lower in hidden)

    def _claimed_near(self, there: int) -> set[int]:
        """Pitches claimed here or a moment away."""
        now_s = self._begun[there].time_s
        near = (
            pitches
            for other, pitches in self._claimed.items()
            if abs(self._begun[other].time_s - now_s) <= SAME_S
        )
        return set().union(*near)

    def _extra(self) -> tuple[ExtraNote, ...]:
        """The strongest pitch of each onset that belongs to no note."""
        found = []
        for there, begun in enumerate(self._begun):
            if self._claimed.get(there) or begun.level < EXTRA_LEVEL:
                continue
            free = self._free(there, EXTRA)
            if free:
                found.append(ExtraNote(begun.time_s, free[0]))
        return tuple(found)


def _contradicted(midi: int, begun: Beginning, expected: set[int]) -> bool:
    """Whether another pitch, near it and no overtone of what was to be struck, begins far more strongly."""
    least = max(OTHER, 2 * begun.of(midi))
    return begun.level >= FAINT and any(
        other not in expected
        and abs(other - midi) <= MOST_APART
        and begun.sounds(other) >= begun.sounds(midi) / 2
        and not any(_hides(other, lower) for lower in expected)
        for other, _ in begun.strongest(least)
    )


def _hides(midi: int, lower: int) -> bool:
    """Whether a pitch lies among the overtones of a lower one."""
    return midi - lower in STANDS_OUT_DB


def _stands_out(begun: Beginning, lower: int, midi: int, *, more_db: float = 0.0) -> bool:
    """Whether a pitch is heard among the overtones of a lower one; in doubt it is."""
    found_db = begun.stands_out_db(lower, midi)
    return found_db is None or found_db >= STANDS_OUT_DB[midi - lower] + more_db


def _by_time(offset_s: float) -> Result:
    if abs(offset_s) <= RIGHT_S:
        return Result.RIGHT
    return Result.EARLY if offset_s < 0 else Result.LATE


def _played(
    arrangement: Arrangement,
    kind: LineKind,
    note: Note,
    result: Result,
    *,
    offset_s: float | None = None,
    midi: int | None = None,
) -> PlayedNote:
    return PlayedNote(kind, note.onset, note.midi, arrangement.bar_of(note.onset), result, offset_s, midi)


def _in_order(notes: Iterable[PlayedNote]) -> tuple[PlayedNote, ...]:
    """By onset, melody first."""
    return tuple(sorted(notes, key=lambda note: (note.onset, note.line is LineKind.BASS)))
