"""What the player decides on Today, written into the log; knows no Kivy."""

from datetime import date

from coach.practice.events import AimSet
from coach.practice.proposals import outlook
from coach.sessions.practice_room import PracticeRoom


class TodayDecisions:
    """Keeps an aim, or a smaller piece of work, for the piece in hand."""

    def __init__(self, room: PracticeRoom) -> None:
        self._room = room

    def aim(self, day: date) -> None:
        """Set the aim; nothing happens without a piece."""
        piece = self._room.journal.progress.in_hand
        if piece is not None:
            self._room.journal.write(AimSet(piece, day))

    def smaller(self, title: str) -> None:
        """Accept the proposal of that title; nothing happens if it is offered no more."""
        journal, services = self._room.journal, self._room.services
        ahead = outlook(journal.progress, services.current_settings(), services.clock.today())
        piece = journal.progress.in_hand
        for proposal in ahead.proposals:
            if proposal.title == title and piece is not None:
                journal.write(proposal.accepted(piece))
