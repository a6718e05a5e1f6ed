"""Capturing a phrase: what the player sings or plays while the loop runs, or right after it, on its time."""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

from coach.hearing.notes.events import NoteBegan, NoteCorrected, NoteEvent
from coach.music import BeatGrid, PerformedNote, Span
from coach.notation import LineKind, Note
from coach.pieces.capture import Feel, capture
from coach.pieces.free_time import free_notes
from coach.practice.piece_state import PieceState
from coach.sessions.listener import Hearing, Listener
from coach.sessions.piece.material import grid_of, key_of
from coach.sessions.ports import Clock

LAST_NOTE_S = 0.6
"""A last note is listened to for so long after the stretch: the ear decides a little late (ours)."""
_Pass = list[tuple[float, float]]


class SilentPass:
    """The loop's time going on without its sound, so that the ear may be open.

    Parameters
    ----------
    clock
        The steady clock.
    from_s, to_s
        The stretch of the recording.
    speed
        How fast it goes by.
    lead_s
        Seconds before ``from_s`` is reached, for taking breath: the ear opens meanwhile.
    """

    def __init__(
        self, clock: Clock, from_s: float, to_s: float, speed: float, *, lead_s: float = 0.0
    ) -> None:
        self._clock, self._from_s, self._to_s, self._speed = clock, from_s, to_s, speed
        self._began_s = clock.steady_s() + lead_s

    @property
    def position_s(self) -> float | None:
        """Place in the recording, ``None`` once the stretch is over."""
        at_s = self._at_s
        return at_s if at_s < self._to_s else None

    @property
    def over(self) -> bool:
        """Whether the stretch is over, and the last note has had its time to end, too."""
        return self._at_s >= self._to_s + LAST_NOTE_S * self._speed

    @property
    def _at_s(self) -> float:
        return self._from_s + (self._clock.steady_s() - self._began_s) * self._speed


class PhraseCapture:
    """Hears a phrase, and tells it on the time of the recording.

    Parameters
    ----------
    listener
        Its steps pair the ear's time with the place in the recording.
    position_s
        Where the recording is now, ``None`` when it stands.
    """

    def __init__(self, listener: Listener, position_s: Callable[[], float | None]) -> None:
        self._listener, self._position_s = listener, position_s
        self._passes: list[_Pass] = [[]]
        self._notes: list[PerformedNote] = []
        self._open: NoteBegan | None = None
        self._heard_s = 0.0
        self._leave = listener.subscribe(self._hear)

    def stop(self) -> tuple[PerformedNote, ...]:
        """End, and give the notes of the fullest pass (the last of equals), in seconds of the recording.

        A note that still sounds is one of them.
        """
        self._leave()
        if self._open is not None and self._heard_s > self._open.start_s:
            self._notes.append(_so_far(self._open, self._heard_s))
        told = [self._told(each) for each in self._passes if len(each) > 1]
        return max(reversed(told), key=len, default=())

    def _hear(self, hearing: Hearing) -> None:
        self._notes += hearing.chunk.notes
        self._heard_s = hearing.at_s
        for event in hearing.chunk.events:
            self._open = _still_open(self._open, event)
        at_s = self._position_s()
        if at_s is None:
            return
        here = self._passes[-1]
        if here and at_s < here[-1][1]:
            here = []
            self._passes.append(here)  # the loop began again
        here.append((hearing.at_s, at_s))

    def _told(self, marks: _Pass) -> tuple[PerformedNote, ...]:
        first_s, last_s = marks[0][0], marks[-1][0]
        mine = [note for note in self._notes if first_s <= note.span.start_s <= last_s]
        return tuple(_moved(note, marks) for note in mine)


def _still_open(before: NoteBegan | None, event: NoteEvent) -> NoteBegan | None:
    """The note that sounds after an event; whatever else than its beginning or correction comes ends it."""
    match event:
        case NoteBegan():
            return event
        case NoteCorrected(midi=midi, cents=cents) if before is not None:
            return replace(before, midi=midi, cents=cents)
        case _:
            return None


def _so_far(note: NoteBegan, until_s: float) -> PerformedNote:
    span = Span(note.start_s, until_s)
    return PerformedNote(span, note.midi, note.cents, note.confidence, note.midi, note.decided_s)


def _moved(note: PerformedNote, marks: _Pass) -> PerformedNote:
    start_s = _place(note.span.start_s, marks)
    end_s = max(start_s + 0.01, _place(note.span.end_s, marks))
    return replace(note, span=Span(start_s, end_s))


def _place(ear_s: float, marks: _Pass) -> float:
    """Linear between the marks, going on straight beyond them."""
    index = min(max(bisect_right(marks, (ear_s, float("inf"))), 1), len(marks) - 1)
    (ear0, at0), (ear1, at1) = marks[index - 1], marks[index]
    if index == len(marks) - 1 and ear_s > ear1:
        (ear0, at0) = marks[0]
    if ear1 == ear0:
        return at1
    return at0 + (ear_s - ear0) * (at1 - at0) / (ear1 - ear0)


def written(
    piece: PieceState, kind: LineKind, heard: Sequence[PerformedNote], section: str | None = None
) -> list[Note]:
    """Captured notes on the piece's own axis of quarters, spelled in its key.

    Without beats they lie where they were heard, and are long or short; put into beats already, as others.
    """
    grid = grid_of(piece)
    if section is not None and piece.free(section):
        return free_notes(heard, grid, key_of(piece))
    one = BeatGrid(tuple(quarter - piece.pickup for quarter in grid.quarters), grid.seconds)
    feel = Feel(piece.grid.feel) if piece.grid and piece.grid.feel in set(Feel) else Feel.STRAIGHT
    captured = capture(heard, one, kind=kind, meter=piece.meter, key=key_of(piece), feel=feel)
    shift: Fraction = captured.first_quarter + piece.pickup
    return [replace(n, onset=n.onset + shift) for n in captured.line if n.onset + shift >= 0]
