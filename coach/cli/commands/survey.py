"""``coach survey``: a first listen to recordings, with advice and its reasons."""

import argparse
from pathlib import Path

from coach.cli.output import Output, TextProgress, each_input
from coach.sessions.services import Services
from coach.sessions.survey import Survey, survey

_TIME_DIGITS, _TEMPO_DIGITS, _CENTS_DIGITS, _SHARE_DIGITS = 4, 2, 2, 4


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("audio", nargs="+", metavar="AUDIO", help="recordings")


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Listen to each recording."""

    def work(path: Path) -> None:
        found = survey(services, path, TextProgress(out))
        if found.lost is not None:
            out.progress(f"{path}: {found.lost}")
        out.value(_value(str(path), found))
        _tell(str(path), found, out)

    return each_input(args.audio, out, work)


def _value(name: str, found: Survey) -> dict[str, object]:
    return {
        "input": name,
        "tempo_bpm": None if found.tempo_bpm is None else round(found.tempo_bpm, _TEMPO_DIGITS),
        "beats_s": [round(time, _TIME_DIGITS) for time in found.beats_s],
        "bars_s": [round(time, _TIME_DIGITS) for time in found.bars_s],
        "meter": found.meter,
        "tuning_cents": round(found.tuning_cents, _CENTS_DIGITS),
        "notes_per_s": round(found.notes_per_s, _SHARE_DIGITS),
        "voices": round(found.voices, _SHARE_DIGITS),
        "melody_clarity": round(found.melody_clarity, _SHARE_DIGITS),
        "bass_clarity": round(found.bass_clarity, _SHARE_DIGITS),
        "checkable_share": round(found.checkable_share, _SHARE_DIGITS),
        "key": found.key,
        "advice": found.advice,
        "reasons": list(found.reasons),
    }


def _tell(name: str, found: Survey, out: Output) -> None:
    out.text(f"{name}: {found.advice}")
    for reason in found.reasons:
        out.text(f"  {reason}")
    if found.tempo_bpm is not None:
        others = ", ".join(f"{tempo:.0f}" for tempo in found.other_tempos_bpm[:3])
        out.text(
            f"  About {found.tempo_bpm:.0f} beats a minute in {found.meter} (or {others}: tap to correct it)."
        )
        if not found.bars_sure:
            out.text("  Where bars begin is not clear: tap ONE.")
    if found.key is not None:
        out.text(f"  Probably in {found.key}.")
    side = "higher" if found.tuning_cents > 0 else "lower"
    # The offset is known within a semitone only: a recording may lie whole frets away besides.
    cents = abs(found.tuning_cents)
    out.text(f"  It sounds {cents:.0f} hundredths of a fret {side} than a guitar tuned to 440 Hz.")
    out.text(f"  The app can check about {found.checkable_share:.0%} of its notes.")
