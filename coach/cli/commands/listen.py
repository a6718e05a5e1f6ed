"""``coach listen``: the notes of a recording with one note at a time, by the live code."""

import argparse
from pathlib import Path
from typing import cast

from coach.cli.output import Output, each_input
from coach.hearing.frames import F0Frame
from coach.hearing.listening import Heard, listen
from coach.hearing.tracker import Source
from coach.music import PerformedNote, Pitch
from coach.music.tuning_system import A4_HZ, A4_RANGE_HZ
from coach.sessions.services import Services

_TIME_DIGITS, _HZ_DIGITS, _CENTS_DIGITS, _SHARE_DIGITS = 4, 3, 2, 4


def a4_hz(text: str) -> float:
    """Read a tuning standard in Hz for argparse."""
    try:
        value = float(text)
    except ValueError:
        value = 0.0
    if not A4_RANGE_HZ[0] <= value <= A4_RANGE_HZ[1]:
        raise argparse.ArgumentTypeError(f"A4 lies between 415 and 466 Hz, not at “{text}”")
    return value


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("audio", nargs="+", metavar="AUDIO", help="recordings with one note at a time")
    parser.add_argument("--source", choices=("any", "voice", "guitar"), default="any", help="who is heard")
    parser.add_argument("--a4", type=a4_hz, default=A4_HZ, metavar="HZ", help="tuning of A4, 415 to 466")
    parser.add_argument("--engine", choices=("neural", "yin"), help="pitch engine; the best one by default")
    parser.add_argument("--frames", action="store_true", help="give the pitch every 16 ms, too")


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Listen to each recording."""
    decoder = services.decoder()
    engine = services.engine(args.engine or "auto")
    source = cast("Source", args.source)

    def work(path: Path) -> None:
        sound = decoder.decode(path)
        if sound.lost is not None:
            out.progress(f"{path}: {sound.lost}")
        heard = listen(sound.mono, sound.rate_hz, engine=engine, source=source, a4_hz=args.a4)
        out.value(_value(str(path), heard, args.a4, with_frames=args.frames))
        _tell(str(path), heard, out)

    return each_input(args.audio, out, work)


def _value(name: str, heard: Heard, a4: float, *, with_frames: bool) -> dict[str, object]:
    return {
        "input": name,
        "a4_hz": a4,
        "engine": heard.engine,
        "duration_s": round(heard.duration_s, _TIME_DIGITS),
        "notes": [_note(note) for note in heard.notes],
        "frames": _frames(heard.frames) if with_frames else None,
    }


def _note(note: PerformedNote) -> dict[str, object]:
    return {
        "start_s": round(note.span.start_s, _TIME_DIGITS),
        "end_s": round(note.span.end_s, _TIME_DIGITS),
        "midi": note.midi,
        "first_midi": note.first_midi,
        "cents": round(note.cents, _CENTS_DIGITS),
        "confidence": round(note.confidence, _SHARE_DIGITS),
        "decided_s": round(note.decided_s, _TIME_DIGITS),
    }


def _frames(frames: tuple[F0Frame, ...]) -> dict[str, list[object]]:
    return {
        "time_s": [round(frame.time_s, _TIME_DIGITS) for frame in frames],
        "f0_hz": [None if frame.f0_hz is None else round(frame.f0_hz, _HZ_DIGITS) for frame in frames],
        "confidence": [round(frame.confidence, _SHARE_DIGITS) for frame in frames],
        "voiced": [frame.voiced for frame in frames],
        "decided_s": [round(frame.decided_s, _TIME_DIGITS) for frame in frames],
    }


def _tell(name: str, heard: Heard, out: Output) -> None:
    out.text(
        f"{name}: {len(heard.notes)} notes in {heard.duration_s:.1f} s, heard by the {heard.engine} engine"
    )
    for note in heard.notes:
        pitch = Pitch.from_midi(note.midi).name
        out.text(
            f"  {note.span.start_s:8.3f} s  {note.span.length_s:6.3f} s  {pitch:<4} {note.cents:+6.1f} cents"
        )
