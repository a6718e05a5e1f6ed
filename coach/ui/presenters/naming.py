"""Names and places of notes for the piece in hand, as one player reads and plays them."""

from coach.practice.settings import Settings
from coach.sessions.journal import Journal
from coach.ui.presenters.piece_view import name_of, places_of


class Names:
    """Says how a note is called, and where it lies.

    Parameters
    ----------
    journal
        For the key of the piece as it stands.
    settings
        Names and tuning.
    """

    def __init__(self, journal: Journal, settings: Settings) -> None:
        self._journal, self.settings = journal, settings

    @property
    def capo(self) -> int:
        """Fret of the capo, 0 without one."""
        piece = self._journal.progress.piece
        return piece.key.capo if piece is not None and piece.key is not None else 0

    def of(self, midi: int) -> str:
        """A note's name without its octave, spelled in the piece's key."""
        return name_of(midi, self._journal.progress.piece, self.settings.naming)

    def at(self, string: int, fret: int) -> int:
        """The note (MIDI) of a place; frets count from the capo."""
        return self.settings.tuning[6 - string] + self.capo + fret

    def place(self, midi: int, string: int | None = None) -> tuple[int, int] | None:
        """Where a note lies: on ``string`` if it is there, else at its lowest fret."""
        places = places_of(midi, self.settings, self.capo)
        return next((each for each in places if each[0] == string), next(iter(places), None))

    def where(self, midi: int, string: int | None = None) -> str:
        """Where it lies, in a sentence."""
        place = self.place(midi, string)
        if place is None:
            low = midi < min(self.settings.tuning) + self.capo
            way = "higher" if low else "lower"
            return f"The guitar does not reach it: look for it 12 frets {way}."
        string, fret = place
        return f"It lies on string {string}, {f'fret {fret}' if fret else 'open'}."
