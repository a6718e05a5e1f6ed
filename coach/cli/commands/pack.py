"""``coach pack``: make a teacher's pack of a piece."""

import argparse
from pathlib import Path

from coach.cli.output import Output
from coach.errors import CoachError
from coach.sessions.exchange import pack_of
from coach.sessions.services import Services


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("piece", metavar="PIECE", help="the piece, by its identifier or its title")
    parser.add_argument("--out", required=True, metavar="FILE", help="the pack, a .zip file")
    parser.add_argument("--word", default="", help="what you want to say to the learner")
    parser.add_argument(
        "--with-recording",
        action="store_true",
        help="put the recording in; without, the learner's own file is matched by its hash",
    )


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Write the pack."""
    path = Path(args.out)
    try:
        pack = pack_of(services, args.piece, word=args.word, with_recording=args.with_recording)
        services.exchange().write_pack(pack, path)
    except CoachError as error:
        out.failure(args.piece, error)
        return 1
    out.value(
        {
            "input": args.piece,
            "out": str(path),
            "title": pack.title,
            "sections": [section.name for section in pack.sections],
            "recording": pack.recording is not None,
            "reference": pack.reference is not None,
        }
    )
    out.text(f"{path}: “{pack.title}”, {len(pack.sections)} sections")
    return 0
