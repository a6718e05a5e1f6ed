"""``coach hint``: one step of the hint ladder for the player's note."""

import argparse
from pathlib import Path

from coach.cli.commands.check import add_span_arguments, query_of
from coach.cli.output import Output, TextProgress, each_input
from coach.hearing.evidence import evidence
from coach.music import Pitch
from coach.pieces.hints import Direction, Hint, HintStep, hint
from coach.sessions.recordings import analysed
from coach.sessions.services import Services


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("audio", metavar="AUDIO", help="a recording")
    add_span_arguments(parser, required=True)
    parser.add_argument("--step", choices=[step.value for step in HintStep], required=True)


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Give one hint."""
    query = query_of(args)
    model = services.evidence_model()

    def work(path: Path) -> None:
        analysis = analysed(services, path, TextProgress(out)).analysis
        found = evidence(analysis, model, query.line, query.span)
        given = hint(found, query.midi, HintStep(args.step))
        out.value(value_of(given))
        out.text(text_of(given))

    return each_input([args.audio], out, work)


def value_of(given: Hint) -> dict[str, object]:
    """The JSON value of a hint."""
    return {
        "line": given.line.value,
        "from_s": given.span.start_s,
        "to_s": given.span.end_s,
        "asked_midi": given.asked_midi,
        "step": given.step.value,
        "direction": None if given.direction is None else given.direction.value,
        "within_a_tone": given.within_a_tone,
        "midi": given.midi,
    }


_SIDE_WORDS = {
    Direction.HIGHER: "It lies higher in sound.",
    Direction.LOWER: "It lies lower in sound.",
    None: "This recording does not tell on which side it lies.",
}
_NEAR_WORDS = {
    True: "It lies within two frets.",
    False: "It lies more than two frets away.",
    None: "This recording does not tell how near it is.",
}


def text_of(given: Hint) -> str:
    """A hint in words."""
    parts = [_SIDE_WORDS[given.direction]]
    if given.step is not HintStep.DIRECTION:
        parts.append(_NEAR_WORDS[given.within_a_tone])
    if given.step is HintStep.REVEAL:
        told = None if given.midi is None else Pitch.from_midi(given.midi).name
        parts.append(f"It is {told}." if told else "This recording does not tell the note.")
    return " ".join(parts)
