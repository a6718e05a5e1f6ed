"""``coach tune``: which string was meant, how many cents it is off, and whether that was steady."""

import argparse
from pathlib import Path

from coach.cli.commands.listen import a4_hz
from coach.cli.output import Output, each_input
from coach.errors import NoteNameError
from coach.fretboard.tuning import STANDARD, Tuning
from coach.hearing.tuner.tuned_strings import TunedString, tune
from coach.music import Pitch
from coach.music.tuning_system import A4_HZ
from coach.sessions.services import Services


def tuning(text: str) -> Tuning:
    """Read a tuning for argparse."""
    try:
        return Tuning.parse(text)
    except NoteNameError as error:
        raise argparse.ArgumentTypeError(error.message) from error


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("audio", metavar="AUDIO", help="a recording of strings plucked one by one")
    parser.add_argument("--tuning", type=tuning, default=STANDARD, help="strings from the thickest up")
    parser.add_argument("--a4", type=a4_hz, default=A4_HZ, metavar="HZ", help="tuning of A4, 415 to 466")


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Tell about each string heard."""
    decoder = services.decoder()

    def work(path: Path) -> None:
        sound = decoder.decode(path)
        strings = tune(sound.mono, sound.rate_hz, tuning=args.tuning.strings, a4_hz=args.a4)
        out.value([_value(string) for string in strings])
        if not strings:
            out.text("No string was heard clearly: pluck one string at a time and let it ring.")
        for string in strings:
            out.text(_line(string))

    return each_input([args.audio], out, work)


def _value(string: TunedString) -> dict[str, object]:
    return {
        "string": string.string,
        "target_midi": string.target_midi,
        "cents": round(string.cents, 2),
        "steady": string.steady,
        "at_s": round(string.at_s, 3),
    }


def _line(string: TunedString) -> str:
    name = Pitch.from_midi(string.target_midi).name
    advice = "in tune" if string.in_tune else "tighten" if string.cents < 0 else "loosen"
    if string.warn_over_tight:
        advice = "careful: check that this is the right string before you tighten it"
    steady = "steady" if string.steady else "not steady yet"
    return f"string {string.string} ({name}): {string.cents:+.1f} cents, {steady}; {advice}"
