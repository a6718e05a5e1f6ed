"""``coach slow``: a slowed copy of a recording at the same or a shifted pitch."""

import argparse
from math import isfinite
from pathlib import Path

from coach.cli.output import Output, TextProgress, UsageError, each_input
from coach.sessions.ports.recordings import MOST_SHIFT_SEMITONES
from coach.sessions.services import Services

LEAST_SPEED, MOST_SPEED = 0.25, 2.0
_ENDINGS = (".wav", ".flac", ".ogg")
_TIME_DIGITS = 4


def speed(text: str) -> float:
    """Read a speed for argparse."""
    value = _number(text)
    if not LEAST_SPEED <= value <= MOST_SPEED:
        raise argparse.ArgumentTypeError(
            f"the speed lies between {LEAST_SPEED} and {MOST_SPEED:g}, not at “{text}”"
        )
    return value


def shift(text: str) -> float:
    """Read a shift in semitones for argparse."""
    value = _number(text)
    if not abs(value) <= MOST_SHIFT_SEMITONES:
        raise argparse.ArgumentTypeError(f"the shift lies between -24 and 24 semitones, not at “{text}”")
    return value


def _number(text: str) -> float:
    """A finite number, or infinity for anything else: out of every range."""
    try:
        value = float(text)
    except ValueError:
        return float("inf")
    return value if isfinite(value) else float("inf")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("audio", metavar="AUDIO", help="the recording")
    parser.add_argument("--speed", type=speed, required=True, metavar="S", help="0.6 is 60 %% of the speed")
    parser.add_argument("--out", type=Path, required=True, metavar="FILE", help=".wav, .flac or .ogg")
    parser.add_argument("--shift", type=shift, default=0.0, metavar="SEMITONES", help="fractions allowed")


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Write the slowed copy."""
    target: Path = args.out
    if target.suffix.lower() not in _ENDINGS:
        raise UsageError(f"--out {target}: give the file one of the endings {', '.join(_ENDINGS)}")
    if target.resolve() == Path(args.audio).resolve():
        raise UsageError("--out names the recording itself: give the copy another name")

    def work(path: Path) -> None:
        sound = services.decoder().decode(path)
        if sound.lost is not None:
            out.progress(f"{path}: {sound.lost}")
        TextProgress(out).progress(0.0, "Slowing down")
        slowed = services.stretcher().render(
            sound.stereo, sound.rate_hz, speed=args.speed, shift_semitones=args.shift
        )
        services.encoder().encode(target, slowed, sound.rate_hz)
        duration_s = slowed.shape[0] / sound.rate_hz
        out.value(
            {
                "input": str(path),
                "out": str(target),
                "speed": args.speed,
                "shift_semitones": args.shift,
                "rate_hz": sound.rate_hz,
                "duration_s": round(duration_s, _TIME_DIGITS),
                "lost": sound.lost,
            }
        )
        shifted = f", shifted by {args.shift:g} semitones" if args.shift else ""
        out.text(
            f"{path}: {sound.duration_s:.1f} s at {args.speed:.0%}{shifted}: {duration_s:.1f} s in {target}"
        )

    return each_input([args.audio], out, work)
