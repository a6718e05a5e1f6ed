"""The first three notes of a bundled tune: where they are in its recording, and how they are heard and asked.

A bundled piece comes with its beat; its pitches are never looked at here: whether a note is right is asked of
the recording, as with any other piece.
"""

from dataclasses import dataclass
from fractions import Fraction
from random import Random

from coach.errors import ScopeError
from coach.music import BeatGrid
from coach.notation import LineKind
from coach.pieces.bundled import BundledPiece
from coach.pieces.hints import Hint
from coach.pieces.verdicts import Outcome, Verdict
from coach.practice.events import PieceSetAside
from coach.sessions.piece.beat_desk import BeatDesk
from coach.sessions.piece.bringing_in import bundled_pieces, take_bundled
from coach.sessions.piece.check_desk import CheckDesk
from coach.sessions.piece.line_desk import LineDesk
from coach.sessions.piece.material import grid_of
from coach.sessions.ports import Emphasis, Jobs, Samples
from coach.sessions.practice_room import PracticeRoom
from coach.tones.ensemble import EnsembleManner, humanised

COUNT = 3
FIRST_BARS = 8
"""The first piece has 8 bars (the product's own rule)."""
SPEED = 0.7
BEFORE_S, AFTER_S = 0.03, 0.08
"""So much is heard around a note: its attack, and a little of its end."""
FIRST_SECTION = "A"


@dataclass(frozen=True, slots=True)
class NotePlace:
    """Where one note of the tune lies, in quarters."""

    onset: Fraction
    duration: Fraction


class FirstNotes:
    """Takes the first bundled piece in hand and asks about its first three notes; `prepare` comes first.

    Parameters
    ----------
    room
        Journal, recording, services.
    """

    def __init__(self, room: PracticeRoom) -> None:
        self._room = room
        self.places: tuple[NotePlace, ...] = ()
        self._sounds: tuple[Samples, ...] = ()
        self._rate_hz = 0
        self._checks: CheckDesk | None = None
        self._desk: LineDesk | None = None

    @property
    def title(self) -> str:
        """Of the piece in hand."""
        piece = self._room.journal.progress.piece
        return piece.title if piece is not None else ""

    @property
    def begun(self) -> bool:
        """Whether this tune is in hand already."""
        piece = self._room.journal.progress.piece
        return piece is not None and piece.bundled == bundled_pieces(self._room.services)[0].id

    @property
    def way_on(self) -> tuple[str, dict[str, str]] | None:
        """Where another piece that is in hand goes on (a screen, and what about); ``None`` without one."""
        piece = self._room.journal.progress.piece
        if piece is None or self.begun:
            return None
        if not piece.sections:
            return "choose", {}
        return "workbench", {"section": piece.sections[0].name, "line": LineKind.MELODY.value}

    def prepare(self, jobs: Jobs) -> None:
        """Take the piece in hand (once), set its beat, listen to its recording, slow its first notes down.

        Raises
        ------
        ScopeError
            If another piece is in hand already: its own page leads on.
        """
        bundled = bundled_pieces(self._room.services)[0]
        journal = self._room.journal
        if journal.progress.piece is None:
            take_bundled(self._room.services, journal, bundled.id, jobs)
        piece = journal.progress.piece
        if piece is None or piece.bundled != bundled.id:
            raise ScopeError("You have a piece in hand already: go on with it from Today.")
        recording = self._room.recording(jobs)
        if piece.grid is None:
            _set_beat(BeatDesk(journal), bundled, recording.audio.duration_s)
        self._checks = CheckDesk(journal, recording, self._room.services.evidence_model(), FIRST_SECTION)
        self._desk = LineDesk(journal, FIRST_SECTION, LineKind.MELODY)
        self.places = tuple(NotePlace(note.onset, note.duration) for note in bundled.melody.notes[:COUNT])
        jobs.progress(0.9, "Slowing the tune down")
        self._slow_down()

    @property
    def found(self) -> tuple[int | None, ...]:
        """The notes written so far (MIDI), ``None`` where none is yet."""
        line = self._line.line
        notes = (line.at(place.onset) for place in self.places)
        return tuple(None if note is None else note.midi for note in notes)

    def sound(self, index: int | None) -> bool:
        """Let one note sound, or all three; whether anything can sound."""
        output = self._room.loudspeaker()
        if output is not None and self._sounds:
            output.silence()
            output.play(self._sounds[-1 if index is None else index], self._rate_hz, gain_db=-6.0)
        return output is not None

    def hush(self) -> None:
        """Let nothing sound."""
        output = self._room.loudspeaker()
        if output is not None:
            output.silence()

    def ask(self, index: int, midi: int) -> Verdict:
        """Is this the note? What is right is written into the line at once."""
        place = self.places[index]
        verdict = self._desk_of_checks.check(LineKind.MELODY, place.onset, place.duration, midi)
        if verdict.outcome in {Outcome.HEARD, Outcome.OTHER_OCTAVE}:
            self._line.place(place.onset, place.duration, midi, by="played")
        return verdict

    def keep(self, index: int, midi: int) -> None:
        """Write a note that the recording cannot tell about: the player's ear decides."""
        place = self.places[index]
        self._line.place(place.onset, place.duration, midi, by="played")

    def hint(self, index: int, midi: int) -> Hint:
        """The next step of the hint ladder for the player's last note."""
        place = self.places[index]
        return self._desk_of_checks.hint(LineKind.MELODY, place.onset, place.duration, midi)

    def lay_aside(self) -> None:
        """Lay the tune aside for a recording of the player's own; what was found of it is kept."""
        piece = self._room.journal.progress.piece
        if piece is not None:
            self._room.journal.write(PieceSetAside(piece.piece, "I have a recording of my own."))

    @property
    def _line(self) -> LineDesk:
        if self._desk is None:
            raise ValueError("prepare comes first")
        return self._desk

    @property
    def _desk_of_checks(self) -> CheckDesk:
        if self._checks is None:
            raise ValueError("prepare comes first")
        return self._checks

    def _slow_down(self) -> None:
        piece = self._room.journal.progress.piece
        if piece is None:
            return
        recording, grid = self._room.recording(), grid_of(piece)
        audio, shift = recording.audio, -recording.analysis.tuning_cents / 100.0
        stretcher = self._room.services.stretcher()
        spans = [(place.onset, place.onset + place.duration) for place in self.places]
        spans.append((spans[0][0], spans[-1][1]))
        sounds = []
        for start, end in spans:
            first = max(0, round((grid.second_of(start) - BEFORE_S) * audio.rate_hz))
            last = round((grid.second_of(end) + AFTER_S) * audio.rate_hz)
            part = audio.stereo[first:last]
            sounds.append(
                stretcher.render(
                    part,
                    audio.rate_hz,
                    speed=SPEED,
                    shift_semitones=shift,
                    emphasis=Emphasis.MELODY,
                    best=False,  # nobody waits gladly before the first note
                )
            )
        self._sounds, self._rate_hz = tuple(sounds), audio.rate_hz


def _set_beat(desk: BeatDesk, piece: BundledPiece, duration_s: float) -> None:
    """The beat that a bundled piece comes with, and its first bars cut into sections."""
    manner = EnsembleManner(detune_cents=piece.detune_cents)
    tune = humanised(piece.parts(), Random(piece.seed), manner)[0].notes
    onsets = tuple(note.onset for note in piece.melody)
    grid = BeatGrid(onsets, tuple(note.start_s for note in tune))
    beats = int((onsets[-1] - piece.pickup) / piece.meter.beat) + 1
    taps_s = [grid.second_of(piece.pickup + index * piece.meter.beat) for index in range(beats)]
    desk.tap(taps_s, taps_s[0], piece.meter, pickup=piece.pickup, duration_s=duration_s)
    desk.cut(min(FIRST_BARS, piece.arrangement.bar_count))
