"""Use cases of the teacher: learners side by side, packs and replies as files."""

import tempfile
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from pathlib import Path

from coach.errors import LineError, ScopeError
from coach.music.pitch import Pitch
from coach.practice.events import NoteRecord, ReplyOpened
from coach.practice.piece_state import Cell, PieceState
from coach.practice.progress import Progress
from coach.reports.reply_file import reply_json
from coach.reports.side_by_side import LearnerRow, side_by_side
from coach.reports.values import Report
from coach.sessions.exchange import pack_of
from coach.sessions.file_names import file_stem
from coach.sessions.keeping import usual_folder
from coach.sessions.services import Services

PACKS, REPLIES = "packs", "replies"
"""Folders below the usual folder."""


@dataclass(frozen=True, slots=True)
class Learner:
    """One learner: the row, and the sections a reply may leave out (those not begun, never all)."""

    row: LearnerRow
    untouched: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Learners:
    """The watched folder: a learner each, and a sentence for each file that is no report."""

    learners: tuple[Learner, ...]
    troubles: tuple[str, ...] = ()


def learners_in(services: Services, folder: Path) -> Learners:
    """The newest report of each learner, the stuck first; ``StoreError`` if the folder cannot be read."""
    newest: dict[str, tuple[str, Report]] = {}
    troubles = []
    for each in services.exchange().learners(folder):
        if each.report is None:
            troubles.append(each.trouble or f"“{each.file}” is not a report.")
            continue
        who = each.report.name.casefold() or each.file
        known = newest.get(who)
        if known is None or known[1].made_on <= each.report.made_on:
            newest[who] = (each.file, each.report)
    reports = dict(newest.values())
    rows = side_by_side(newest.values())
    return Learners(tuple(Learner(row, _untouched(reports[row.file])) for row in rows), tuple(troubles))


def _untouched(report: Report) -> tuple[str, ...]:
    piece = next((each for each in report.pieces if each.state == "in hand"), None)
    if piece is None:
        return ()
    names = [
        each.name
        for each in piece.sections
        if all(cell is Cell.EMPTY for cell in (each.melody, each.bass, each.together, each.played))
    ]
    return tuple(names if len(names) < len(piece.sections) else names[1:])


def make_pack(services: Services, piece: str, *, word: str, with_recording: bool) -> Path:
    """Write a piece of this device as a pack; returns the file."""
    pack = pack_of(services, piece, word=word.strip(), with_recording=with_recording)
    path = usual_folder(services) / PACKS / f"{file_stem(pack.title, 'piece')}.zip"
    # The writer of files makes the folder; the pack itself is then put there whole.
    with tempfile.TemporaryDirectory() as name:
        made = Path(name) / path.name
        services.exchange().write_pack(pack, made)
        services.files().write(path, made.read_bytes())
    return path


@dataclass(frozen=True, slots=True)
class Correction:
    """A note as a teacher names it: bar (0 is the upbeat), beat from 1 on, pitch, length in beats."""

    bar: int
    beat: Fraction
    midi: int
    beats: Fraction


def correction_of(text: str) -> Correction:
    """Read “3, 2, F#4, 1”: bar, beat, note, beats long.

    Raises
    ------
    LineError
        If it is none.
    NoteNameError
        If the note is none.
    """
    words = [word.strip() for word in text.split(",")]
    try:
        bar, beat, note, beats = words
        found = Correction(int(bar), Fraction(beat), Pitch.parse(note).midi, Fraction(beats))
    except (ValueError, ZeroDivisionError) as error:
        raise LineError(
            f"“{text}” is not a note: write bar, beat, note, beats long, such as 3, 2, F#4, 1."
        ) from error
    if found.bar < 0 or found.beat < 1 or found.beats <= 0:
        raise LineError("Bars count from 0 (the upbeat), beats from 1; a note has a length: write it anew.")
    return found


def note_at(piece: PieceState, correction: Correction) -> NoteRecord:
    """The note on the piece's own ruler; ``ScopeError`` if it lies outside its sections."""
    meter = piece.meter
    start = piece.pickup + (correction.bar - 1) * meter.bar if correction.bar > 0 else Fraction(0)
    onset = start + (correction.beat - 1) * meter.beat
    if correction.beat - 1 >= meter.bar / meter.beat or not any(
        section.onset <= onset < section.end for section in piece.sections
    ):
        raise ScopeError(
            f"Bar {correction.bar} has no beat {correction.beat}: look at the piece, and mend it."
        )
    return NoteRecord(onset, correction.beats * meter.beat, correction.midi)


def same_piece(progress: Progress, title: str | None) -> PieceState | None:
    """The teacher's own piece of a learner's title, where there is exactly one with a beat and sections."""
    titled = [
        each
        for each in progress.pieces.values()
        if title is not None and each.title.casefold() == title.casefold() and each.sections and each.grid
    ]
    return titled[0] if len(titled) == 1 else None


@dataclass(frozen=True, slots=True)
class Answering:
    """What a teacher answers: a word, one corrected note of one line, a section less, one more change."""

    word: str = ""
    line: str = "melody"
    note: NoteRecord | None = None
    without: str | None = None
    one_more_change: bool = False

    @property
    def empty(self) -> bool:
        """Whether nothing is said."""
        return not (self.word.strip() or self.note or self.without or self.one_more_change)


def write_reply(services: Services, row: LearnerRow, answering: Answering, today: date) -> Path:
    """Write a reply for the learner of a row; returns the file.

    Raises
    ------
    ScopeError
        If there is nothing in it, or the learner has no piece in hand.
    """
    if row.piece is None:
        raise ScopeError(f"{row.name} has no piece in hand that a reply could be about.")
    if answering.empty:
        raise ScopeError("There is nothing in the reply yet: write a word, or choose what it changes.")
    reply = ReplyOpened(
        row.piece,
        answering.word.strip(),
        corrected=() if answering.note is None else (answering.note,),
        corrected_line=None if answering.note is None else answering.line,
        dropped_sections=() if answering.without is None else (answering.without,),
        extra_reopenings=int(answering.one_more_change),
    )
    name = f"reply-{file_stem(row.name, 'learner')}-{today.isoformat()}.json"
    path = usual_folder(services) / REPLIES / name
    services.files().write(path, reply_json(reply))
    return path
