"""Both lines on the neck: the best fingering, what cannot be reached, and the smallest change."""

from dataclasses import dataclass

from coach.errors import ScopeError
from coach.fretboard import REACHES, Reach, Tuning, Wishes
from coach.notation import Arrangement
from coach.pieces.change_search import NO_HOOKS, Hooks
from coach.pieces.changes import Mended, Proposal, mend
from coach.practice.events import LineWritten, TogetherSettled
from coach.practice.piece_state import PieceState
from coach.practice.settings import Settings
from coach.sessions.journal import Journal
from coach.sessions.piece.material import record_of, section_of, whole_section


@dataclass(frozen=True, slots=True)
class Hand:
    """Whose hand, on which guitar."""

    reach: Reach
    tuning: Tuning

    @classmethod
    def of(cls, settings: Settings) -> "Hand":
        """The player's own, by the settings."""
        return cls(REACHES[settings.reach], Tuning(settings.tuning))


class NeckDesk:
    """One section of the piece in hand on the neck.

    Parameters
    ----------
    journal
        Where accepted changes and the settled fingering go.
    hand
        Reach and tuning.
    section
        The section's name.
    """

    def __init__(self, journal: Journal, hand: Hand, section: str) -> None:
        self._journal = journal
        self._hand = hand
        self._section = section

    @property
    def arrangement(self) -> Arrangement:
        """Both lines of the section, on the piece's axis of quarters."""
        return whole_section(self._piece(), self._section)

    def ways(
        self,
        wishes: Wishes | None = None,
        *,
        changes: bool = True,
        hooks: Hooks = NO_HOOKS,
    ) -> Mended:
        """The easiest way to play it, with the smallest change where one is needed; nothing is applied."""
        return mend(
            self.arrangement,
            tuning=self._hand.tuning,
            reach=self._hand.reach,
            wishes=wishes or Wishes(),
            changes=changes,
            hooks=hooks,
        )

    def settle(self, way: Proposal) -> None:
        """Accept a way to play it: the lines are written as they will be played, and the stage is settled.

        Raises
        ------
        ScopeError
            If both lines are not settled yet.
        """
        piece = self._piece()
        self._journal.require_allowed(TogetherSettled(piece.piece, self._section))
        state = section_of(piece, self._section)
        played = {n.name: n for n in way.fingering.notes}
        for line in way.arrangement.lines:
            records = tuple(record_of(n.note, n.place) for n in played.values() if n.line is line.kind)
            if records != state.line(line.kind.value).notes:
                self._journal.write(
                    LineWritten(piece.piece, self._section, line.kind.value, records, "together")
                )
        details = tuple(change.detail for change in way.changes)
        self._journal.write(TogetherSettled(piece.piece, self._section, details))

    def _piece(self) -> PieceState:
        piece = self._journal.progress.piece
        if piece is None:
            raise ScopeError("No piece is in hand: choose one first.")
        return piece
