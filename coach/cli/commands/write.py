"""``coach write``: a sung or played line, written down on a given beat."""

import argparse
import json
from fractions import Fraction
from pathlib import Path
from typing import cast

from coach.cli.output import Output, UsageError, each_input
from coach.errors import InputError
from coach.hearing.listening import listen
from coach.hearing.tracker import Source
from coach.music import BeatGrid, Meter
from coach.notation import Arrangement, LineKind
from coach.notation.arrangement import TEMPO_RANGE_BPM
from coach.pieces.capture import Captured, Feel, capture
from coach.sessions.services import Services
from coach.sheet.lines_json import write_lines


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("audio", nargs="+", metavar="AUDIO", help="takes with one note at a time")
    parser.add_argument("--line", choices=[kind.value for kind in LineKind], required=True)
    parser.add_argument("--tempo", type=float, required=True, metavar="BPM", help="quarter notes a minute")
    parser.add_argument("--offset", type=float, default=0.0, metavar="S", help="second of the first ONE")
    parser.add_argument("--meter", default="4/4", help="such as 3/4")
    parser.add_argument("--grid", choices=[feel.value for feel in Feel], default="straight")
    parser.add_argument("--source", choices=("any", "voice", "guitar"), default="any", help="who is heard")


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Write each take down."""
    if not TEMPO_RANGE_BPM[0] <= args.tempo <= TEMPO_RANGE_BPM[1]:
        raise UsageError(f"a tempo of {args.tempo} is out of range: use 10 to 400 quarter notes a minute.")
    try:
        meter = Meter.parse(args.meter)
    except InputError as error:
        raise UsageError(error.message) from error
    grid = BeatGrid.steady(args.tempo, args.offset)
    kind, feel = LineKind(args.line), Feel(args.grid)
    decoder, engine = services.decoder(), services.engine("auto")

    def work(path: Path) -> None:
        sound = decoder.decode(path)
        heard = listen(sound.mono, sound.rate_hz, engine=engine, source=cast("Source", args.source))
        captured = capture(heard.notes, grid, kind=kind, meter=meter, feel=feel)
        written = _arrangement(path.stem, captured, meter, args.tempo)
        out.value(json.loads(write_lines(written)))
        _tell(str(path), captured, out)

    return each_input(args.audio, out, work)


def _arrangement(title: str, captured: Captured, meter: Meter, tempo_bpm: float) -> Arrangement:
    empty = Arrangement(title, meter, captured.key, tempo_bpm, pickup=captured.pickup)
    return empty.with_line(captured.line)


def _tell(name: str, captured: Captured, out: Output) -> None:
    out.text(f"{name}: {len(captured.line)} notes, key of {captured.key.name}")
    for note in captured.line:
        bar, beat = _where(note.onset, captured)
        out.text(f"  bar {bar}, beat {beat}: {note.pitch.name} for {note.duration}")


def _where(onset: Fraction, captured: Captured) -> tuple[int, Fraction]:
    into = onset - captured.pickup
    bar = into // captured.meter.bar
    return int(bar) + 1, into - bar * captured.meter.bar + 1
