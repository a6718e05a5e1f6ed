"""``coach unpack``: open a teacher's pack or reply."""

import argparse
from contextlib import closing
from pathlib import Path

from coach.cli.output import Output, each_input
from coach.sessions.exchange import Opened, open_pack, open_reply
from coach.sessions.journal import Journal
from coach.sessions.services import Services


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("file", metavar="FILE", help="a pack (.zip) or a reply (.json)")
    parser.add_argument("--recording", metavar="AUDIO", help="your own copy of the recording it belongs to")


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Open the file, and tell the piece's name."""

    def work(path: Path) -> None:
        with closing(Journal(services.log(), services.clock)) as journal:
            if path.suffix.lower() == ".json":
                reply = open_reply(journal, path)
                title = journal.progress.pieces[reply.piece].title
                _tell(
                    Opened(reply.piece, title, reply.word, journal.progress.in_hand == reply.piece), path, out
                )
                return
            recording = None if args.recording is None else Path(args.recording)
            _tell(open_pack(services, journal, path, recording), path, out)

    return each_input([args.file], out, work)


def _tell(opened: Opened, path: Path, out: Output) -> None:
    out.value(
        {
            "input": str(path),
            "piece": opened.piece,
            "title": opened.title,
            "word": opened.word,
            "in_hand": opened.in_hand,
            "left_out": list(opened.left_out),
            "needs_recording": opened.needs_recording,
        }
    )
    out.text(opened.title)
    if opened.word:
        out.text(f"“{opened.word}”")
    if not opened.in_hand:
        out.text("Another piece is in hand: finish it or set it aside, then unpack this file again.")
    if opened.left_out:
        out.text(f"More than a piece may have now, so left out: {', '.join(opened.left_out)}.")
    if opened.needs_recording:
        out.text(
            "Its recording is not in the pack: put your own copy (the very same file) beside the pack and "
            "unpack it again, or name it with --recording."
        )
