"""The simulated learner: the only part of the demonstration that knows the piece.

It taps, sings and plucks as sound, with a human's errors, and errs in the notes, too: two wrong ones and one
an octave off. What it sang is for the others to hear; they are never told.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from random import Random

from coach.notation import Arrangement, LineKind, Note
from coach.pieces.bundled import BundledPiece
from coach.sessions.ports import Samples
from coach.tones.ensemble import EnsembleManner, humanised
from coach.tones.learner import plucked, sung
from coach.tones.lines import line_notes
from coach.tones.prompt import PromptNote

RATE_HZ = 44100
TAP_S = 0.02
"""Standard deviation of taps. Common practice, no source."""
SLIPS = {(LineKind.MELODY, 4): 2, (LineKind.MELODY, 15): -12, (LineKind.BASS, 3): 2}
"""Which notes of each line are first taken for another, and by how many semitones."""

WRONG_SEMITONES, LATE_S = 2, 0.18
"""What goes wrong when it plays: one note a whole tone off, one note late."""
LEAD_S = 1.0
"""It breathes before it plays."""


@dataclass(frozen=True, slots=True)
class Take:
    """A take as sound; its time axis is the recording's, so that it can be written on its beat."""

    samples: Samples
    rate_hz: int = RATE_HZ


class SimulatedLearner:
    """Somebody who knows the tune by heart and has a voice and a guitar.

    Parameters
    ----------
    piece
        The piece as composed.
    rng
        The source of all human error.
    """

    def __init__(self, piece: BundledPiece, rng: Random) -> None:
        self._piece = piece
        self._rng = rng
        manner = EnsembleManner(detune_cents=piece.detune_cents)
        played = humanised(piece.parts(), Random(piece.seed), manner)
        self._shift = dict.fromkeys(LineKind, 0)
        self._heard = {LineKind.MELODY: played[0].notes, LineKind.BASS: played[1].notes}

    def follow_key(self, melody_semitones: int, bass_semitones: int) -> None:
        """Sing and play each line so much higher than it was recorded from now on: key and register."""
        self._shift = {LineKind.MELODY: melody_semitones, LineKind.BASS: bass_semitones}

    def taps(self, count: int) -> tuple[tuple[float, ...], float]:
        """Taps along the first beats of the recording, and the one that was meant as ONE."""
        beat = self._piece.meter.beat
        times = {
            note.onset: heard.start_s
            for kind in LineKind
            for note, heard in zip(self._piece.arrangement.line(kind), self._heard[kind], strict=True)
        }
        known = sorted(times)
        wanted = [self._piece.pickup + beat * i for i in range(count)]
        taps = [self._between(known, times, at) + self._rng.gauss(0.0, TAP_S) for at in wanted]
        return tuple(taps), taps[0]

    def line(self, kind: LineKind, start: Fraction, end: Fraction) -> Take:
        """Sing the tune, or pluck the bass, of a stretch of the piece along with the recording."""
        notes = []
        for index, (note, heard) in enumerate(zip(self._notes(kind), self._heard[kind], strict=True)):
            if start <= note.onset < end:
                slip = SLIPS.get((kind, index), 0)
                notes.append(PromptNote(note.midi + self._shift[kind] + slip, heard.start_s, heard.end_s))
        return Take(self._sound(kind, notes))

    def one_note(self, midi: int, kind: LineKind) -> Take:
        """Try a single note."""
        return Take(self._sound(kind, [PromptNote(midi, 0.3, 1.3)]))

    def play(self, arrangement: Arrangement, tempo_bpm: float) -> Take:
        """Play both lines on the guitar as written, but for one wrong and one late note of the tune."""
        tune, bass = (list(line_notes(line, tempo_bpm)) for line in arrangement.lines)
        wrong, late = len(tune) // 3, 2 * len(tune) // 3
        if tune:
            tune[wrong] = replace(tune[wrong], midi=tune[wrong].midi + WRONG_SEMITONES)
            tune[late] = _moved(tune[late], LATE_S)
        first_s = min((note.start_s for note in (*tune, *bass)), default=0.0)
        notes = [_moved(note, LEAD_S - first_s) for note in (*tune, *bass)]
        return Take(plucked(sorted(notes, key=lambda n: n.start_s), RATE_HZ, self._rng))

    def compare(self, arrangement: Arrangement) -> tuple[int, int]:
        """How many notes of an arrangement are those of the piece (any octave), and how many there are."""
        meant = [
            (kind, n.onset, (n.midi + self._shift[kind]) % 12) for kind in LineKind for n in self._notes(kind)
        ]
        found = {(line.kind, n.onset, n.midi % 12) for line in arrangement.lines for n in line}
        return sum(note in found for note in meant), len(meant)

    def _notes(self, kind: LineKind) -> tuple[Note, ...]:
        return self._piece.arrangement.line(kind).notes

    def _sound(self, kind: LineKind, notes: Sequence[PromptNote]) -> Samples:
        render = sung if kind is LineKind.MELODY else plucked
        return render(notes, RATE_HZ, self._rng)

    @staticmethod
    def _between(known: list[Fraction], times: dict[Fraction, float], at: Fraction) -> float:
        before = max((k for k in known if k <= at), default=known[0])
        after = min((k for k in known if k > at), default=known[-1])
        if after == before:
            return times[before]
        share = float((at - before) / (after - before))
        return times[before] + share * (times[after] - times[before])


def _moved(note: PromptNote, by_s: float) -> PromptNote:
    return replace(note, start_s=note.start_s + by_s, end_s=note.end_s + by_s)
