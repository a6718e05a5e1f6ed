"""Finding the beat: by tapping along, and cutting the piece into sections."""

from collections.abc import Sequence
from fractions import Fraction

from coach.errors import InputError, ScopeError
from coach.music import Key, Meter
from coach.notation.section import section_name
from coach.pieces.tapping import grid_from_taps
from coach.practice.events import GridSet, KeyChosen, SectionRecord, SectionsSet
from coach.practice.piece_state import PieceState
from coach.sessions.journal import Journal

SECTION_BARS = 4
"""A section's usual length: 2 to 8 bars are allowed, phrases are mostly four. Common practice, no source."""


class BeatDesk:
    """Beat, bars and sections of the piece in hand."""

    def __init__(self, journal: Journal) -> None:
        self._journal = journal

    def tap(
        self,
        taps_s: Sequence[float],
        one_s: float,
        meter: Meter,
        *,
        pickup: Fraction = Fraction(0),
        feel: str = "straight",
        duration_s: float | None = None,
    ) -> None:
        """Set the grid from taps on the beat and the first ONE.

        Parameters
        ----------
        taps_s
            Recorded times of the taps, one a beat.
        one_s
            Recorded time of the first full bar's first beat, as tapped.
        pickup
            Length of the upbeat before it, in quarters.
        duration_s
            Length of the recording; anchors are laid over all of it.
        """
        grid = grid_from_taps(taps_s, one_s, meter.beat, pickup=pickup, until_s=duration_s)
        piece = self._piece()
        self._journal.write(GridSet(piece.piece, str(meter), pickup, grid.quarters, grid.seconds, feel))

    def cut(self, bars: int, *, bars_a_section: int = SECTION_BARS) -> None:
        """Cut the first ``bars`` full bars (and the upbeat) into sections of equal length.

        Raises
        ------
        InputError
            For a number of bars that cannot be.
        ScopeError
            If the piece is longer than a piece may be now.
        """
        if bars < 1 or not 2 <= bars_a_section <= 8:
            raise InputError("A section has 2 to 8 bars: choose how many.")
        piece = self._piece()
        # With an upbeat every section begins with one: its phrases do, too.
        starts = [piece.meter.bar * bar for bar in range(0, bars, bars_a_section)]
        ends = [*starts[1:], piece.pickup + piece.meter.bar * bars]
        records = tuple(
            SectionRecord(section_name(i), start, end)
            for i, (start, end) in enumerate(zip(starts, ends, strict=True))
        )
        self._journal.write(SectionsSet(piece.piece, records))

    def choose_key(
        self,
        key: Key,
        *,
        capo: int = 0,
        shift_semitones: int = 0,
        tuning_cents: float = 0.0,
        melody_octaves: int = 0,
        bass_octaves: int = 0,
    ) -> None:
        """Choose key, capo and registers; checks, fretboard and sheet follow from now on."""
        self._journal.write(
            KeyChosen(
                self._piece().piece,
                key.name,
                capo,
                shift_semitones,
                round(tuning_cents, 2),
                melody_octaves,
                bass_octaves,
            )
        )

    def _piece(self) -> PieceState:
        piece = self._journal.progress.piece
        if piece is None:
            raise ScopeError("No piece is in hand: choose one first.")
        return piece
