"""Progress: where the player stands, as a fold over the log."""

from bisect import bisect_left
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from itertools import chain

from coach.practice.days import Day, SkillSummary
from coach.practice.ear_pace import EarPace
from coach.practice.piece_state import PieceState
from coach.practice.schedule_state import ScheduleState


@dataclass(frozen=True, slots=True)
class Progress:
    """Where the player stands, computed from all events up to ``seq``.

    Parameters
    ----------
    seq
        Number of the last event that is in it, 0 for an empty log.
    at
        Moment of that event.
    pieces
        All pieces ever chosen, by identifier, in order of choosing.
    in_hand
        Identifier of the one piece in hand.
    earlier
        The days before ``current``, in order; days without any event are left out.
    current
        The latest day with an event.
    skills
        Summary of the drill answers by skill.
    schedule
        The cards of the ear training.
    ear_pace
        How long each drill takes.
    packs
        Pieces that came as a teacher's pack, whether or not they were taken in hand, with the pack's hash.
    voice
        Lowest and highest comfortable note (MIDI), as found last.
    strings
        Cents off of each string as last tuned.
    round_trips
        Last measured round trip in ms by device.
    reported_at
        When a report was last shared with the teacher (“since last lesson”).
    """

    seq: int = 0
    at: datetime | None = None
    pieces: Mapping[str, PieceState] = field(default_factory=dict)
    in_hand: str | None = None
    earlier: tuple[Day, ...] = ()
    current: Day | None = None
    skills: Mapping[str, SkillSummary] = field(default_factory=dict)
    schedule: ScheduleState = field(default_factory=ScheduleState)
    ear_pace: EarPace = field(default_factory=EarPace)
    packs: Mapping[str, str] = field(default_factory=dict)
    voice: tuple[int, ...] | None = None
    strings: Mapping[int, float] = field(default_factory=dict)
    round_trips: Mapping[str, float] = field(default_factory=dict)
    reported_at: datetime | None = None
    backed_up_on: date | None = None
    started_on: date | None = None

    @property
    def piece(self) -> PieceState | None:
        """The piece in hand."""
        return self.pieces[self.in_hand] if self.in_hand is not None else None

    @property
    def laid_aside(self) -> tuple[PieceState, ...]:
        """The pieces laid aside, the latest first."""
        aside = [p for p in self.pieces.values() if p.set_aside_on is not None and p.finished_on is None]
        return tuple(sorted(aside, key=lambda piece: piece.set_aside_on or date.min, reverse=True))

    @property
    def finished(self) -> tuple[PieceState, ...]:
        """The finished pieces, in order of finishing."""
        done = [piece for piece in self.pieces.values() if piece.finished_on is not None]
        return tuple(sorted(done, key=lambda piece: piece.finished_on or date.min))

    @property
    def days(self) -> Iterator[Day]:
        """All days with an event, in order."""
        return chain(self.earlier, () if self.current is None else (self.current,))

    def days_since(self, first: date) -> tuple[Day, ...]:
        """The days with an event from a day on, in order."""
        start = bisect_left(self.earlier, first, key=lambda day: day.day)
        current = () if self.current is None or self.current.day < first else (self.current,)
        return (*self.earlier[start:], *current)

    def day(self, day: date) -> Day:
        """The sums of a day, all zero where nothing happened."""
        if self.current is not None and self.current.day == day:
            return self.current
        return next((found for found in reversed(self.earlier) if found.day == day), Day(day))

    @property
    def last_practised(self) -> date | None:
        """The latest day on which something was practised."""
        return self.practised_before(date.max)

    def practised_before(self, day: date) -> date | None:
        """The latest day before a given one on which something was practised."""
        if self.current is not None and self.current.practised and self.current.day < day:
            return self.current.day
        return next((each.day for each in reversed(self.earlier) if each.practised and each.day < day), None)
