"""``coach fit``: keys and capos that suit the guitar, with reasons."""

import argparse
from pathlib import Path

from coach.cli.output import Output, each_input
from coach.cli.reading import arrangement_in
from coach.pieces.fit import FitOption, fit
from coach.sessions.services import Services


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("file", nargs="+", metavar="FILE", help="lines JSON, MusicXML or MIDI")


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Fit each file to the guitar."""
    del services  # everything is computed from the file

    def work(path: Path) -> None:
        arrangement = arrangement_in(path)
        options = fit(arrangement.melody, arrangement.bass, arrangement.key)
        out.value({"input": str(path), "key": arrangement.key.name, "options": [_value(o) for o in options]})
        _tell(str(path), options, out)

    return each_input(args.file, out, work)


def _value(option: FitOption) -> dict[str, object]:
    return {
        "key": option.key.name,
        "capo": option.capo,
        "shape": option.shape.name,
        "shift_semitones": option.shift_semitones,
        "melody_octaves": option.melody_octaves,
        "bass_octaves": option.bass_octaves,
        "open_roots": list(option.open_roots),
        "highest_fret": option.highest_fret,
        "reasons": list(option.reasons),
    }


def _tell(name: str, options: tuple[FitOption, ...], out: Output) -> None:
    out.text(f"{name}:")
    for number, option in enumerate(options, 1):
        capo = f", capo on fret {option.capo}" if option.capo else ""
        out.text(f"  {number}. {option.key.name}{capo}")
        for reason in option.reasons:
            out.text(f"     {reason}")
