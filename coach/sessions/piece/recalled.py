"""What was asked and answered before: the log gives a line its marks back when it is opened again."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, time, timedelta
from fractions import Fraction

from coach.music import Span
from coach.notation import LineKind
from coach.pieces.hints import HintStep
from coach.pieces.verdicts import Nearby, Outcome, Verdict
from coach.practice.events import HintTaken, KeyChosen, LoggedEvent, NoteChecked
from coach.practice.piece_state import PieceState
from coach.sessions.piece.material import grid_of, line_of, span_of
from coach.sessions.ports import PracticeLog

SAME_S = 0.001
"""Two spans are the same when their ends lie closer: the log keeps more digits than that."""


@dataclass(slots=True)
class Asked:
    """What was asked about one place: the notes, and the steps of the ladder."""

    notes: set[int] = field(default_factory=set)
    steps: set[HintStep] = field(default_factory=set)


def place_key(kind: LineKind, start_s: float) -> tuple[LineKind, int]:
    """A place of the recording that questions are counted by, to the millisecond."""
    return kind, round(start_s / SAME_S)


@dataclass(frozen=True, slots=True)
class Recalled:
    """Answers about notes that stand as they were asked, and what was asked at each place."""

    verdicts: Mapping[tuple[LineKind, Fraction], Verdict]
    asked: Mapping[tuple[LineKind, int], Asked]


def events_of(log: PracticeLog, piece: PieceState) -> Iterator[LoggedEvent]:
    """Events from the day on which a piece was chosen, in order; a day more, for other time zones."""
    since = datetime.combine(piece.chosen_on, time.min, tzinfo=UTC) - timedelta(days=1)
    return log.events(since=since)


def recalled(events: Iterable[LoggedEvent], piece: PieceState, section: str, duration_s: float) -> Recalled:
    """Read a section's questions in the log.

    Parameters
    ----------
    events
        Of the log, in order, from the day on which the piece was chosen.
    duration_s
        Length of the recording: no question reaches beyond its end.

    Notes
    -----
    The last answer about a note counts. A key chosen since moves the note and the answer with it; another
    note, time, length or beat has none.
    """
    checks: list[tuple[NoteChecked, int]] = []
    asked: dict[tuple[LineKind, int], Asked] = {}
    shifts = dict.fromkeys(LineKind, 0)
    for event in (each.event for each in events):
        match event:
            case KeyChosen(piece=piece.piece):
                shifts = {
                    LineKind.MELODY: event.shift_semitones + 12 * event.melody_octaves,
                    LineKind.BASS: event.shift_semitones + 12 * event.bass_octaves,
                }
            case NoteChecked() | HintTaken() if (event.piece, event.section) == (piece.piece, section):
                kind = LineKind(event.line)
                here = asked.setdefault(place_key(kind, event.from_s), Asked())
                if isinstance(event, HintTaken):
                    here.steps.add(HintStep(event.step))
                else:
                    here.notes.add(event.midi + piece.shift(event.line) - shifts[kind])
                    checks.append((event, event.midi - shifts[kind]))
            case _:
                pass
    return Recalled(_standing(checks, piece, section, duration_s), asked)


def _standing(
    checks: list[tuple[NoteChecked, int]], piece: PieceState, section: str, duration_s: float
) -> dict[tuple[LineKind, Fraction], Verdict]:
    answers = {
        (place_key(LineKind(check.line), check.from_s), round(check.to_s / SAME_S), recorded): check
        for check, recorded in checks
    }
    grid, found = grid_of(piece), {}
    for kind in LineKind:
        for note in line_of(piece, section, kind):
            span = span_of(grid, note.onset, note.duration)
            end_s = min(span.end_s, duration_s)
            recorded = note.midi - piece.shift(kind.value)
            check = answers.get((place_key(kind, span.start_s), round(end_s / SAME_S), recorded))
            if check is not None:
                found[kind, note.onset] = _verdict(check, kind, note.midi)
    return found


def _verdict(check: NoteChecked, kind: LineKind, midi: int) -> Verdict:
    nearby = Nearby(check.nearby) if check.nearby is not None else None
    asked = Span(check.from_s, check.to_s)
    return Verdict(kind, asked, midi, Outcome(check.verdict), nearby, check.confidence)
