"""``coach finger``: the best fingering of two lines, and the smallest change where hands cannot do it."""

import argparse
from dataclasses import replace
from pathlib import Path

from coach.cli.output import Output, each_input
from coach.cli.reach import add_reach
from coach.cli.reading import arrangement_in
from coach.errors import NoteNameError
from coach.fretboard import REACHES, STANDARD, Conflict, FingeredNote, HandAt, Tuning
from coach.notation import Arrangement
from coach.notation.arrangement import MAX_CAPO
from coach.pieces.change_kinds import Change
from coach.pieces.changes import Mended, mend
from coach.sessions.services import Services


def tuning(text: str) -> Tuning:
    """Read a tuning for argparse."""
    try:
        return Tuning.parse(text)
    except NoteNameError as error:
        raise argparse.ArgumentTypeError(error.message) from error


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("file", nargs="+", metavar="FILE", help="lines JSON, MusicXML or MIDI")
    parser.add_argument("--tuning", type=tuning, default=STANDARD, help="strings from the thickest up")
    parser.add_argument(
        "--capo", type=int, choices=range(MAX_CAPO + 1), metavar="N", help="fret of the capo, 0 to 9"
    )
    add_reach(parser)
    parser.add_argument("--as-written", action="store_true", help="allow no change")


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Finger each file."""
    del services  # everything is computed from the file

    def work(path: Path) -> None:
        arrangement = arrangement_in(path)
        if args.capo is not None:
            arrangement = replace(arrangement, capo=args.capo)
        mended = mend(
            arrangement,
            tuning=args.tuning,
            reach=REACHES[args.reach],
            changes=not args.as_written,
        )
        out.value({"input": str(path), **as_value(mended, arrangement, args.tuning, args.reach)})
        _tell(str(path), mended, arrangement, out)

    return each_input(args.file, out, work)


def as_value(mended: Mended, given: Arrangement, given_tuning: Tuning, reach: str) -> dict[str, object]:
    """The JSON value of an answer, but for its ``input``."""
    best = mended.best
    neck = best.fingering.neck if best else None
    return {
        "playable": best is not None,
        "as_written": mended.as_written,
        "cost": round(best.fingering.cost, 4) if best else None,
        "reach": reach,
        "tuning": list((neck.tuning if neck else given_tuning).strings),
        "capo": neck.capo if neck else given.capo,
        "changes": [_change(change) for change in best.changes] if best else [],
        "notes": [_note(note) for note in best.fingering.notes] if best else [],
        "hand": [_hand(hand) for hand in best.fingering.hand] if best else [],
        "blocked": [_blocked(conflict) for conflict in mended.blocked],
    }


def _change(change: Change) -> dict[str, object]:
    return {
        "kind": change.kind.value,
        "line": change.line.value if change.line else None,
        "onset": str(change.onset) if change.onset is not None else None,
        "detail": change.detail,
    }


def _note(note: FingeredNote) -> dict[str, object]:
    return {
        "line": note.line.value,
        "onset": str(note.note.onset),
        "duration": str(note.note.duration),
        "midi": note.note.midi,
        "string": note.place.string,
        "fret": note.place.fret,
        "finger": note.finger,
        "right_hand": note.right_hand,
    }


def _hand(hand: HandAt) -> dict[str, object]:
    return {"onset": str(hand.onset), "position": hand.position}


def _blocked(conflict: Conflict) -> dict[str, object]:
    return {
        "onset": str(conflict.onset),
        "reason": conflict.reason,
        "mm": conflict.mm,
        "frets": conflict.frets,
    }


def _tell(name: str, mended: Mended, given: Arrangement, out: Output) -> None:
    for conflict in mended.blocked:
        out.text(f"{name}: {conflict.reason}")
    best = mended.best
    if best is None:
        out.text(f"{name}: cannot be played ({mended.word if mended.searched_to else 'as written'}).")
        return
    out.text(f"{name}: {mended.word}; {best.fingering.cost:.1f} points")
    if best.fingering.highest_fret > best.fingering.neck.reach.asking_fret:
        out.text(
            f"  it goes up to fret {best.fingering.highest_fret}: ask yourself whether that is comfortable"
        )
    for change in best.changes:
        where = "" if change.onset is None else f" (bar {given.bar_of(change.onset)}, quarter {change.onset})"
        out.text(f"  change: {change.detail}{where}, price {float(change.price):g}")
    for number, other in enumerate(mended.alternatives, 1):
        others = "; ".join(change.detail for change in other.changes)
        out.text(f"  or, {number}: {others}, price {float(other.price):g}")
    for note in best.fingering.notes:
        out.text(
            f"  {note.note.onset!s:>6} {note.line:<6} {note.note.pitch.name:<4} string {note.place.string} "
            f"fret {note.place.fret:<2} finger {note.finger or 'open'} {note.right_hand}"
        )
