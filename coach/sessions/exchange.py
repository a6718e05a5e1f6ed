"""Use cases of handing over: make and open packs, open replies, share a report."""

import tempfile
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from coach.errors import ScopeError, StoreError, UnreadableFileError
from coach.practice.events import (
    Event,
    PackOpened,
    PieceChosen,
    PieceTakenUp,
    ReplyOpened,
    ReportShared,
    SectionRecord,
    SectionsSet,
)
from coach.practice.piece_state import PieceState
from coach.practice.progress import Progress
from coach.practice.proposals import outlook
from coach.practice.rules import allowed
from coach.reports.build import build_report
from coach.reports.reply_file import read_reply
from coach.reports.values import Report
from coach.sessions.journal import Journal
from coach.sessions.late_recording import beside, proved
from coach.sessions.piece.material import arrangement_of
from coach.sessions.piece.reference import REFERENCE
from coach.sessions.ports import PieceFiles, PracticeLog
from coach.sessions.ports.exchange import Pack
from coach.sessions.services import Services
from coach.sheet import write_musicxml


@dataclass(frozen=True, slots=True)
class Opened:
    """A pack that was opened: the piece it became, and what the teacher says.

    Parameters
    ----------
    in_hand
        Whether the piece was taken in hand; not while another one is.
    left_out
        Names of sections that are more than a piece may have now.
    needs_recording
        Whether the recording has still to be found: the pack only holds its hash.
    """

    piece: str
    title: str
    word: str
    in_hand: bool
    left_out: tuple[str, ...] = ()
    needs_recording: bool = False


def pack_of(services: Services, piece: str, *, word: str = "", with_recording: bool = False) -> Pack:
    """A piece of this device as a pack for learners.

    Parameters
    ----------
    piece
        Its identifier, or its title.
    with_recording
        Only where the teacher may hand it on; otherwise the learner's own file is matched by its hash.

    Raises
    ------
    StoreError
        If there is no such piece.
    """
    with closing(services.read_log()) as log:
        state = _state(log.progress(), piece)
    kept = services.library().find(state.piece)
    lines = arrangement_of(state)
    return Pack(
        title=state.title,
        word=word,
        recording_sha256=state.recording_sha256,
        recording=kept.recording if with_recording else None,
        grid=state.grid,
        key=state.key,
        sections=tuple(SectionRecord(each.name, each.onset, each.end) for each in state.sections),
        reference=lines if len(lines.melody) else None,
    )


def _state(progress: Progress, piece: str) -> PieceState:
    known = progress.pieces.get(piece)
    titled = [each for each in progress.pieces.values() if each.title.casefold() == piece.casefold()]
    if known is None and len(titled) == 1:
        known = titled[0]
    if known is None:
        names = ", ".join(progress.pieces) or "none yet"
        raise StoreError(f"There is no piece “{piece}”: choose one of these ({names}).")
    return known


def open_pack(services: Services, journal: Journal, path: Path, recording: Path | None = None) -> Opened:
    """Open a teacher's pack: a new piece, taken in hand if no other one is.

    The same pack opened again, before its piece is finished, is the same piece: it gets the recording that
    it lacked, and is taken in hand if it waited for that.

    Parameters
    ----------
    recording
        The learner's own file, where the pack holds none; its hash has to be the pack's. By default it is
        looked for in the folder of the pack.

    Raises
    ------
    InputError
        If the pack cannot be used, or the recording is another one; nothing is changed then.
    """
    with tempfile.TemporaryDirectory() as name:
        read = services.exchange().read_pack(path, Path(name))
        pack = read.pack
        sound = pack.recording or _own_copy(services, pack, path, recording)
        known = _opened_before(services, journal.progress, read.sha256)
        if known is None:
            kept = services.library().add(pack.title, sound)
        elif known.recording is None and sound is not None:
            kept = services.library().add_recording(known.piece, sound)
        else:
            kept = known
    if known is None:
        if pack.reference is not None:
            services.library().write(kept.piece, REFERENCE, write_musicxml(pack.reference))
        journal.write(PackOpened(kept.piece, pack.title, read.sha256))
    left_out = _taken_in_hand(journal, kept.piece, pack)
    missing = pack.recording_sha256 is not None and kept.recording is None
    in_hand = journal.progress.in_hand == kept.piece
    return Opened(kept.piece, pack.title, pack.word, in_hand, left_out, missing)


def _own_copy(services: Services, pack: Pack, path: Path, recording: Path | None) -> Path | None:
    if recording is not None and pack.recording_sha256 is not None:
        return proved(services, pack.recording_sha256, recording)
    return beside(path, pack.recording_sha256)


def _opened_before(services: Services, progress: Progress, sha256: str) -> PieceFiles | None:
    """The piece that this very pack has become, unless it is finished (then the pack begins anew)."""
    for piece, pack in reversed(list(progress.packs.items())):
        state = progress.pieces.get(piece)
        if pack == sha256 and (state is None or state.finished_on is None):
            there = [each for each in services.library().pieces() if each.piece == piece]
            if there:
                return there[0]
    return None


def _taken_in_hand(journal: Journal, piece: str, pack: Pack) -> tuple[str, ...]:
    """Take the piece in hand if the rules allow it; names the sections that are more than it may have."""
    if piece in journal.progress.pieces:
        _write_if_allowed(journal, PieceTakenUp(piece))
        return ()
    chosen = PieceChosen(piece, pack.title, pack.recording_sha256)
    if allowed(journal.progress, chosen) is not None:
        return ()
    journal.write(chosen)
    return _set_up(journal, piece, pack)


def _set_up(journal: Journal, piece: str, pack: Pack) -> tuple[str, ...]:
    """Write what the teacher has set, as far as a piece may have it now; names what was left out."""
    if pack.grid is not None:
        _write_if_allowed(journal, replace(pack.grid, piece=piece))
    sections = _fitting(journal, piece, pack.sections)
    if sections:
        journal.write(SectionsSet(piece, sections))
    if pack.key is not None:
        _write_if_allowed(journal, replace(pack.key, piece=piece))
    return tuple(section.name for section in pack.sections[len(sections) :])


def _fitting(journal: Journal, piece: str, sections: tuple[SectionRecord, ...]) -> tuple[SectionRecord, ...]:
    """As many of the first sections as the limit of bars allows."""
    for count in range(len(sections), 0, -1):
        if allowed(journal.progress, SectionsSet(piece, sections[:count])) is None:
            return sections[:count]
    return ()


def _write_if_allowed(journal: Journal, event: Event) -> None:
    if allowed(journal.progress, event) is None:
        journal.write(event)


def open_reply(journal: Journal, path: Path) -> ReplyOpened:
    """Open a teacher's reply; ``ScopeError`` if it is about a piece that is not here."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise UnreadableFileError(
            f"“{path}” cannot be read ({error.strerror}): choose another file."
        ) from error
    reply = read_reply(data, path.name)
    journal.write(reply)
    return reply


def report_of(services: Services, log: PracticeLog, *, since: date | None = None, name: str = "") -> Report:
    """The report of today, whole or from a day on."""
    progress = log.progress()
    today = services.clock.today()
    events = (each for each in log.events() if since is None or each.at.date() >= since)
    view = outlook(progress, services.current_settings(), today)
    return build_report(progress, events, view, today, since=since, name=name)


def take_to_share(services: Services, progress: Progress) -> bytes:
    """The last take, for a learner who ticks that it may leave this device.

    Raises
    ------
    ScopeError
        If there is no take.
    """
    pieces = [piece for piece in (progress.piece, *reversed(progress.finished)) if piece is not None]
    for piece in pieces:
        if piece.takes:
            data = services.library().read(piece.piece, piece.takes[-1].file)
            if data is not None:
                return data
    raise ScopeError("There is no take to share yet: record the whole piece once.")


def shared(journal: Journal, since: date | None, *, with_takes: bool = False) -> None:
    """Note that a report was shared: the next one can begin here."""
    journal.write(ReportShared(since, with_takes))
