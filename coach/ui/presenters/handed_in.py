"""A teacher's pack or reply, opened by the learner, and what came of it in words."""

import tempfile
from dataclasses import dataclass
from pathlib import Path

from coach.errors import ScopeError
from coach.practice.events import ReplyOpened
from coach.sessions.exchange import Opened, open_pack, open_reply
from coach.sessions.journal import Journal
from coach.sessions.late_recording import beside, lacks_recording
from coach.sessions.services import Services

TEACHERS_FILES = frozenset({".zip", ".json"})
"""Endings of packs and of replies."""


@dataclass(frozen=True, slots=True)
class HandedIn:
    """What came of a file; ``needs_recording`` when the recording is asked for before it is opened."""

    said: str
    needs_recording: bool = False


def path_of(text: str) -> Path:
    """The file a player means, typed or dropped."""
    return Path(text.strip().strip('"')).expanduser()


def open_handed(services: Services, journal: Journal, path: Path, recording: Path | None = None) -> HandedIn:
    """Open a pack or a reply.

    Parameters
    ----------
    recording
        The learner's own copy of the recording, where the pack has none.

    Raises
    ------
    CoachError
        If the file is neither, or may not be opened now; nothing is changed then.
    """
    match path.suffix.lower():
        case ".json":
            return HandedIn(reply_words(open_reply(journal, path)))
        case ".zip":
            return _pack(services, journal, path, recording)
        case _:
            raise ScopeError(
                f"“{path.name}” is neither a pack (.zip) nor a reply (.json): choose another file."
            )


def _pack(services: Services, journal: Journal, path: Path, recording: Path | None) -> HandedIn:
    with tempfile.TemporaryDirectory() as name:
        read = services.exchange().read_pack(path, Path(name))
    pack, in_hand = read.pack, journal.progress.piece
    again = in_hand is not None and journal.progress.packs.get(in_hand.piece) == read.sha256
    if in_hand is not None and not again:
        raise ScopeError(
            f"“{pack.title}” has to wait: “{in_hand.title}” is in hand. Finish it or set it aside, "
            "then open this file again."
        )
    if again and in_hand is not None and not lacks_recording(services, in_hand):
        return HandedIn(f"“{in_hand.title}” is your piece already, with its recording: go on from Today.")
    own = recording or beside(path, pack.recording_sha256)
    if pack.recording_sha256 is not None and pack.recording is None and own is None:
        return HandedIn(
            f"“{pack.title}” comes without its recording. Say where your own copy of it is: "
            "it has to be the very same file.",
            needs_recording=True,
        )
    return HandedIn(pack_words(open_pack(services, journal, path, own)))


def pack_words(opened: Opened) -> str:
    """What came of a pack."""
    said = [f"“{opened.title}” is now your piece: go on from Today."]
    if opened.word:
        said.append(f"Your teacher says: “{opened.word}”")
    if opened.left_out:
        said.append(f"More than a piece may have now, so left out: section {', '.join(opened.left_out)}.")
    return " ".join(said)


def reply_words(reply: ReplyOpened) -> str:
    """What came of a reply."""
    said = [f"Your teacher says: “{reply.word}”" if reply.word else "Your teacher's reply is opened."]
    if reply.corrected:
        notes = "one note is" if len(reply.corrected) == 1 else f"{len(reply.corrected)} notes are"
        said.append(f"In the {'tune' if reply.corrected_line == 'melody' else 'bass'} {notes} corrected.")
    if reply.dropped_sections:
        said.append(f"The piece is smaller now, without section {', '.join(reply.dropped_sections)}.")
    if reply.extra_reopenings:
        said.append("A line that is good enough may be changed once more.")
    return " ".join(said)
