"""Measures the fretboard: ``python tests/bench/fretboard.py DATA [--part NAME]``.

DATA holds ``two_line/*.json`` (two-line pieces as note lists) and ``printed_fingering.json`` (two-voice
spans of printed editions of the Mutopia Project with their left-hand fingers; editor and licence stand beside
each span and are printed by ``--part editions``). No data is part of the project.

Parts: optimal, growth, playable, printed, agreement, moving, editions; all by default.
"""

import argparse
import json
import math
import random
import statistics
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from itertools import islice, pairwise
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from coach.cli.commands.finger import as_value
from coach.fretboard import (
    REACHES,
    SEASONED,
    STARTER,
    Explorer,
    Fingering,
    Neck,
    NoteWish,
    Wishes,
    solve,
)
from coach.music import Meter, Pitch
from coach.notation import Arrangement, Line, LineKind, Note
from coach.pieces.change_search import Hooks
from coach.pieces.changes import mend
from tests.bench.fretboard_printed import KEY, agreement, as_time, editions, printed_limits, share
from tests.fretboard.checker import broken_rules
from tests.fretboard.pieces import chance_piece
from tests.fretboard.rivals import Problem, branch_and_bound, cp_sat

POINTS_TOLERANCE = 1e-6
CP_SAT_TOLERANCE = 0.01


def meter_of(bar: float) -> Meter:
    quarters = as_time(bar)
    return next(
        Meter(int(quarters * unit / 4), unit) for unit in (4, 8, 16) if (quarters * unit / 4).denominator == 1
    )


def two_line(path: Path, bars: int | None) -> Arrangement:
    """A two-line piece, cut to its first bars."""
    data = json.loads(path.read_text(encoding="utf-8"))
    end = as_time(data["bar"]) * bars if bars else None
    lines = {"m": [], "b": []}  # type: dict[str, list[Note]]
    for note in data["notes"]:
        onset, duration = as_time(note["on"]), as_time(note["dur"])
        if end is not None and onset >= end:
            continue
        duration = duration if end is None else min(duration, end - onset)
        lines[note["voice"]].append(Note(onset, duration, Pitch.from_midi(note["midi"])))
    return Arrangement(
        data["id"],
        meter_of(data["bar"]),
        KEY,
        90,
        Line.of(LineKind.MELODY, lines["m"]),
        Line.of(LineKind.BASS, lines["b"]),
    )


def optimal(data: Path) -> None:
    """At least 200 fragments against branch and bound, at least 20 against CP-SAT."""
    rng = random.Random(2024)
    pieces = [two_line(path, 16) for path in sorted((data / "two_line").glob("*.json"))]
    for name, rival, size, count, tolerance, wishes in (
        ("branch and bound", branch_and_bound, (3, 4), 240, POINTS_TOLERANCE, Wishes()),
        ("CP-SAT", cp_sat, (6, 10), 24, CP_SAT_TOLERANCE, Wishes(no_barre=True)),
    ):
        same = unplayable = done = unanswered = 0
        seconds = [0.0, 0.0]
        while done < count:
            piece = fragment(rng, rng.choice(pieces), rng.randint(*size))
            reach = rng.choice(("starter", "seasoned"))
            began = time.perf_counter()
            expected = rival(Problem.of(piece, reach))
            seconds[0] += time.perf_counter() - began
            if expected is None:
                unanswered += 1
                continue
            began = time.perf_counter()
            answer = solve(piece, reach=REACHES[reach], wishes=wishes)
            seconds[1] += time.perf_counter() - began
            cost = answer.cost if isinstance(answer, Fingering) else math.inf
            same += cost == expected or abs(cost - expected) < tolerance
            unplayable += expected == math.inf
            done += 1
        print(
            f"optimal, {name}: same cost {share(same, done)}, {unplayable} unplayable for both, "
            f"{unanswered} unanswered by the rival; {seconds[0]:.1f} s against {seconds[1]:.1f} s"
        )


def fragment(rng: random.Random, piece: Arrangement, onsets: int) -> Arrangement:
    """Some onsets of a piece, brought into the guitar's range an octave or a few frets away."""
    times = piece.onsets()
    first = rng.randrange(max(1, len(times) - onsets))
    start, end = times[first], times[min(first + onsets, len(times) - 1)]
    shift = {LineKind.MELODY: rng.choice((-12, -12, -7, 0)), LineKind.BASS: rng.choice((0, 0, 5, 12))}
    for line in piece.lines:
        notes = [
            Note(note.onset - start, note.duration, Pitch.from_midi(note.midi + shift[line.kind]))
            for note in line.between(start, end)
        ]
        piece = piece.with_line(Line.of(line.kind, notes))
    return piece


def growth(data: Path) -> None:
    """Processor time for 16 bars, 32 bars and so on, each of new music; the mean over several pieces."""
    del data
    rng = random.Random(5)
    lengths = (16, 32, 64, 128, 256)
    easy = [list(islice(chance_pieces(rng, playable=True), max(lengths) // 16)) for _ in range(4)]
    hard = [list(islice(chance_pieces(rng, playable=False), max(lengths) // 16)) for _ in range(4)]
    works: dict[str, tuple[list[list[Arrangement]], Callable[[Arrangement], object]]] = {
        "a fingering": (easy, solve),
        "why there is none": (hard, solve),
        "the smallest change and three more": (hard, mend),
    }
    for name, (pieces, work) in works.items():
        row = []
        for bars in lengths:
            began = time.process_time()
            for parts in pieces:
                work(joined(parts[: bars // 16]))
            row.append((time.process_time() - began) / len(pieces))
        told = ", ".join(f"{bars} bars {seconds:.3f} s" for bars, seconds in zip(lengths, row, strict=True))
        ratios = [later / earlier for earlier, later in pairwise(row)]
        print(f"growth, {name}: {told}; largest ratio {max(ratios):.2f}, mean {statistics.mean(ratios):.2f}")


def chance_pieces(rng: random.Random, *, playable: bool) -> Iterator[Arrangement]:
    """Endlessly many pieces of 16 bars on the neck that can, or cannot, be played as written."""
    while True:
        piece = chance_piece(rng, 64, high=72 if playable else 76)
        if isinstance(solve(piece), Fingering) == playable:
            yield piece


def joined(pieces: list[Arrangement]) -> Arrangement:
    """Pieces of 16 bars in 4/4, one after the other."""
    whole = pieces[0]
    for line in whole.lines:
        notes = [
            Note(note.onset + 64 * count, note.duration, note.pitch)
            for count, piece in enumerate(pieces)
            for note in piece.line(line.kind)
        ]
        whole = whole.with_line(Line.of(line.kind, notes))
    return whole


def playable(data: Path) -> None:
    """The first 16 and 32 bars of every two-line piece, with changes, under the checker."""
    for bars in (16, 32):
        for reach in (STARTER, SEASONED):
            paths = sorted((data / "two_line").glob("*.json"))
            counts: Counter[str] = Counter()
            kinds: Counter[str] = Counter()
            first: list[float] = []
            whole: list[float] = []
            for path in paths:
                piece = two_line(path, bars)
                began = time.perf_counter()
                told: list[float] = []
                mended = mend(
                    piece,
                    reach=reach,
                    hooks=Hooks(on_first=lambda _p, at=began, to=told: to.append(time.perf_counter() - at)),
                )
                whole.append(time.perf_counter() - began)
                first.append(told[0] if told else whole[-1])
                value = as_value(mended, piece, Neck().tuning, reach.name)
                counts["broken rules"] += len(broken_rules(value))
                counts["playable"] += value["playable"] is True
                counts["as written"] += mended.as_written
                counts["proven"] += mended.proven
                kinds.update({change["kind"] for change in value["changes"]})  # type: ignore[attr-defined]
            print(
                f"playable, {bars} bars, {reach.name}: {share(counts['playable'], len(paths))}, as written "
                f"{counts['as written']}, least price proven {counts['proven']}, broken rules "
                f"{counts['broken rules']}; first proposal median {statistics.median(first):.2f} s, "
                f"largest {max(first):.2f} s; whole search largest {max(whole):.2f} s; {dict(kinds)}"
            )


def moving(data: Path) -> None:
    """One note moved to another place, or to another pitch: processor time until all is solved around it."""
    rng = random.Random(3)
    took = []
    for path in sorted((data / "two_line").glob("*.json")):
        explorer = Explorer.on(Neck(reach=SEASONED), two_line(path, 32))
        answer = explorer.answer()
        if not isinstance(answer, Fingering):
            continue
        for _ in range(3):
            note = rng.choice(answer.notes)
            began = time.process_time()
            option = rng.choice(explorer.options(note.name))
            explorer.wish(NoteWish(note.name, option.place)).answer()
            took.append(time.process_time() - began)
            line = explorer.arrangement.line(note.line)
            changed = [
                Note(n.onset, n.duration, Pitch.from_midi(n.midi + 1)) if i == note.name.index else n
                for i, n in enumerate(line)
            ]
            began = time.process_time()
            explorer.rewritten(explorer.arrangement.with_line(Line.of(note.line, changed))).answer()
            took.append(time.process_time() - began)
    print(
        f"moving one note, 32 bars, processor time: median {1000 * statistics.median(took):.0f} ms, "
        f"largest {1000 * max(took):.0f} ms"
    )


PARTS = {
    "optimal": optimal,
    "growth": growth,
    "playable": playable,
    "printed": printed_limits,
    "agreement": agreement,
    "moving": moving,
    "editions": editions,
}


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("data", type=Path)
    parser.add_argument("--part", choices=list(PARTS), action="append")
    args = parser.parse_args()
    for name in args.part or PARTS:
        PARTS[name](args.data)
        sys.stdout.flush()


if __name__ == "__main__":
    main()
