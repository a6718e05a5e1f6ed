"""Finding the beat: by tapping along, and cutting the piece into sections."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from coach.errors import InputError, ScopeError
from coach.music import BeatGrid, Key, Meter
from coach.pieces.capture import Feel
from coach.pieces.sections import LEAST_BARS, BarRange, check_lengths, placed, propose, trimmed
from coach.pieces.tapping import grid_from_taps
from coach.practice.events import GridSet, KeyChosen, SectionRecord, SectionsSet
from coach.practice.limits import Limits, limits_after
from coach.practice.piece_state import FREE
from coach.sessions.journal import Journal


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
        piece = self._journal.piece_in_hand
        feel = Feel.STRAIGHT.value
        self._journal.write(GridSet(piece.piece, str(meter), pickup, grid.quarters, grid.seconds, feel))

    def set_grid(self, grid: BeatGrid, meter: Meter, pickup: Fraction) -> None:
        """Keep a grid; notes already written stay on their beats.

        The feel stays as it is; a piece that was thought to have no beats has them from now on.
        """
        piece = self._journal.piece_in_hand
        known = piece.grid is not None and not piece.without_beats
        feel = piece.grid.feel if piece.grid is not None and known else Feel.STRAIGHT.value
        self._journal.write(GridSet(piece.piece, str(meter), pickup, grid.quarters, grid.seconds, feel))

    def without_beats(self) -> None:
        """The recording has no steady beat: a quarter of the grid is a second, four of them a tile."""
        piece = self._journal.piece_in_hand
        seconds = GridSet(piece.piece, "4/4", Fraction(0), (Fraction(0), Fraction(1)), (0.0, 1.0), FREE)
        self._journal.write(seconds)

    def feel(self, feel: str) -> None:
        """Divide the beats another way: ``straight``, ``swing`` or ``triplet``; no beat moves."""
        grid = self._journal.piece_in_hand.grid
        if grid is None:
            raise ScopeError("The beat of this piece is not set yet: tap it first.")
        if feel != grid.feel:
            self._journal.write(replace(grid, feel=Feel(feel).value))

    def proposed(self, bars: int, ends: Sequence[float] = ()) -> tuple[BarRange, ...]:
        """Sections for the first of ``bars`` full bars: as many as the limits propose, cut at phrases.

        Parameters
        ----------
        bars
            Full bars of the recording.
        ends
            ``ends[n]`` is how surely a phrase ends after bar ``n``, see `coach.sessions.piece.phrases`.
        """
        limits = self.limits
        if bars >= LEAST_BARS:
            bars = trimmed(bars, ends, proposed=limits.proposed_bars, most=limits.most_bars)
        return self.sections_of(bars, ends)

    @staticmethod
    def sections_of(bars: int, ends: Sequence[float] = ()) -> tuple[BarRange, ...]:
        """So many bars cut at phrases; ``InputError`` for a number of bars that cannot be."""
        if bars < 1:
            raise InputError("A piece has at least one bar: choose how many.")
        return propose(bars, ends)

    def cut(self, bars: int) -> None:
        """Cut the first ``bars`` full bars (and the upbeat) into even sections of 2 to 8 bars.

        Raises
        ------
        InputError
            For a number of bars that cannot be.
        ScopeError
            If the piece is longer than a piece may be now.
        """
        self._write(self.sections_of(bars))

    def cut_at(self, ranges: Sequence[BarRange]) -> None:
        """Cut where the player wants it; each section may begin with an upbeat, as the piece does.

        Raises
        ------
        InputError
            If a section has fewer than 2 or more than 8 bars, or the piece has too many.
        """
        wrong = check_lengths(ranges, most=self.limits.most_bars)
        if wrong is not None:
            raise InputError(wrong)
        self._write(ranges)

    @property
    def limits(self) -> Limits:
        """How large this piece may be."""
        return limits_after(len(self._journal.progress.finished))

    def _write(self, ranges: Sequence[BarRange]) -> None:
        piece = self._journal.piece_in_hand
        sections = placed(ranges, piece.meter)
        ends = [
            *(section.onset for section in sections[1:]),
            piece.pickup + ranges[-1].last * piece.meter.bar,
        ]
        records = tuple(
            SectionRecord(section.name, section.onset, end)
            for section, end in zip(sections, ends, strict=True)
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
                self._journal.piece_in_hand.piece,
                key.name,
                capo,
                shift_semitones,
                round(tuning_cents, 2),
                melody_octaves,
                bass_octaves,
            )
        )
