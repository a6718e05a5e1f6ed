"""``coach playthrough``: which notes of a recorded take were right, wrong, early, late, missing."""

import argparse
import math
from fractions import Fraction
from pathlib import Path

from coach.cli.output import Output, TextProgress, each_input
from coach.cli.reading import arrangement_in
from coach.hearing.take import take_evidence
from coach.notation import Arrangement
from coach.notation.arrangement import TEMPO_RANGE_BPM
from coach.pieces.played import PlayedNote, PlayThrough
from coach.pieces.playthrough import grade
from coach.pieces.playthrough_words import sentences, summary
from coach.sessions.services import Services


def tempo(text: str) -> float:
    """Read quarter notes a minute for argparse."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not TEMPO_RANGE_BPM[0] <= value <= TEMPO_RANGE_BPM[1]:
        raise argparse.ArgumentTypeError(f"“{text}” is no tempo: give 10 to 400 quarter notes a minute")
    return value


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("arrangement", metavar="ARRANGEMENT", help="lines JSON, MusicXML or MIDI")
    parser.add_argument("take", metavar="TAKE", help="a recording of it")
    parser.add_argument(
        "--tempo", type=tempo, metavar="BPM", help="quarter notes a minute; else the best fit from 40 to 110"
    )


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Grade a take."""
    jobs = TextProgress(out)

    def with_take(arrangement: Arrangement) -> int:
        def work(path: Path) -> None:
            sound = services.decoder().decode(path, jobs)
            if sound.lost is not None:
                out.progress(f"{path}: {sound.lost}")
            played = grade(arrangement, take_evidence(sound.mono, sound.rate_hz), tempo_bpm=args.tempo)
            out.value(value_of(played))
            _tell(played, arrangement.meter.beat, out)

        return each_input([args.take], out, work)

    codes: list[int] = []
    failed = each_input(
        [args.arrangement],
        out,
        lambda path: codes.append(with_take(arrangement_in(path))),
    )
    return max([failed, *codes])


def value_of(played: PlayThrough) -> dict[str, object]:
    """The JSON value of a graded take."""
    return {
        "tempo_bpm": round(played.line.tempo_bpm, 2) if played.line is not None else None,
        "notes": [_note(note) for note in played.notes],
        "extra": [{"at_s": round(extra.at_s, 3), "midi": extra.midi} for extra in played.extra],
        "right_share": round(played.right_share, 4),
        "hardest_bar": played.hardest_bar,
    }


def _note(note: PlayedNote) -> dict[str, object]:
    return {
        "line": note.line.value,
        "onset": str(note.onset),
        "midi": note.midi,
        "result": note.result.value,
        "offset_ms": None if note.offset_s is None else round(1000 * note.offset_s, 1),
        "played_midi": note.played_midi,
    }


def _tell(played: PlayThrough, beat: Fraction, out: Output) -> None:
    out.text(summary(played, beat))
    for each in sentences(played):
        out.text(f"  {each.words}")
    if played.extra:
        out.text(f"  {len(played.extra)} more heard than is written.")
