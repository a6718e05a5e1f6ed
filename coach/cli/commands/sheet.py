"""``coach sheet``: finger and engrave; PDF, PNG pages, MusicXML and MIDI into a folder."""

import argparse
from collections.abc import Sequence
from pathlib import Path

from coach.cli.output import Output, each_input
from coach.cli.reach import add_reach
from coach.cli.reading import arrangement_in
from coach.fretboard import REACHES
from coach.pieces.changes import Mended, mend
from coach.sessions.services import Services
from coach.sheet.files import SheetFile, sheet_files
from coach.sheet.from_fretboard import marks_of
from coach.sheet.paper import Paper


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("file", nargs="+", metavar="FILE", help="lines JSON, MusicXML or MIDI")
    parser.add_argument("--out", required=True, type=Path, metavar="DIR", help="folder for the files")
    parser.add_argument("--paper", choices=[paper.value for paper in Paper], default=Paper.A4.value)
    add_reach(parser)


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Finger, engrave and write each file."""
    taken: set[Path] = set()

    def work(path: Path) -> None:
        arrangement = arrangement_in(path)
        mended = mend(arrangement, reach=REACHES[args.reach])
        best = mended.best
        played = best.arrangement if best else arrangement
        marks = marks_of(best.fingering) if best else None
        files = sheet_files(played, marks, services.fonts(), Paper(args.paper))
        targets = _targets(args.out, path, files, taken)
        for target, file in zip(targets, files, strict=True):
            services.files().write(target, file.data)
        out.value(_value(path, mended, targets))
        _tell(path, mended, targets, out)

    return each_input(args.file, out, work)


def _targets(folder: Path, given: Path, files: Sequence[SheetFile], taken: set[Path]) -> list[Path]:
    """Names after the input's, never the input itself nor a file of another input of this run."""
    forbidden = taken | {given.resolve()}
    stem = given.stem
    while True:
        targets = [folder / f"{stem}{file.ending}" for file in files]
        if not forbidden & {target.resolve() for target in targets}:
            taken.update(target.resolve() for target in targets)
            return targets
        stem += "-sheet"


def _value(path: Path, mended: Mended, targets: Sequence[Path]) -> dict[str, object]:
    best = mended.best
    return {
        "input": str(path),
        "playable": best is not None,
        "as_written": mended.as_written,
        "changes": [change.detail for change in best.changes] if best else [],
        "pages": sum(target.suffix == ".png" for target in targets),
        "files": [str(target) for target in targets],
    }


def _tell(path: Path, mended: Mended, targets: Sequence[Path], out: Output) -> None:
    if mended.best is None:
        out.text(f"{path}: cannot be played, so the sheet shows the notes without fingering.")
    for conflict in mended.blocked:
        out.text(f"{path}: {conflict.reason}")
    for change in mended.best.changes if mended.best else ():
        out.text(f"  change: {change.detail}")
    for target in targets:
        out.text(f"  {target}")
