"""Measures the fretboard on pieces that were never seen: ``python -m tests.bench.fretboard_fresh --seed N``.

The pieces are made by chance from the seed (`tests.fretboard.wide_pieces`), so a new seed is new data. Every
answer is checked by `tests.fretboard.checker`, which shares no code with the solver.
"""

import argparse
import random
import statistics
import sys
import time
from collections import Counter
from collections.abc import Callable
from itertools import islice, pairwise
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from coach.cli.commands.finger import as_value
from coach.fretboard import REACHES, STANDARD, Explorer, Fingering, Neck, NoteWish, Reach, Tuning, solve
from coach.music import Pitch
from coach.notation import Line, Note
from coach.pieces.change_search import Hooks
from coach.pieces.changes import mend
from tests.bench.fretboard import chance_pieces, joined, share
from tests.fretboard.checker import broken_rules
from tests.fretboard.wide_pieces import ODDITIES, WidePiece, out_of_tune, wide_piece, with_capo

CONTRACT = ("starter", "seasoned")


def playable(seed: int, count: int) -> None:
    """With changes, on any neck; the checker's broken rules; how long the first proposal takes."""
    for bars in (16, 32):
        rng = random.Random(seed + bars)
        tally: Counter[str] = Counter()
        failing: Counter[str] = Counter()
        first: list[float] = []
        for _ in range(count if bars == 16 else count // 6):
            piece, reach, tuning, capo = _task(rng, bars)
            arrangement = with_capo(piece.arrangement, capo)
            told: list[float] = []
            began = time.process_time()
            hooks = Hooks(on_first=lambda _p, at=began, to=told: to.append(time.process_time() - at))
            mended = mend(arrangement, tuning=tuning, reach=reach, hooks=hooks)
            if mended.best is not None:
                first.append(told[0] if told else time.process_time() - began)
            value = as_value(mended, arrangement, tuning, reach.name)
            broken = broken_rules(value)
            tally["pieces"] += 1
            tally["playable"] += mended.best is not None
            tally["as written"] += mended.as_written
            tally["proven"] += mended.proven
            tally["broken rules"] += len(broken)
            if mended.best is None:
                failing.update(piece.oddities)
                print("  not playable:", sorted(piece.oddities), reach.name, capo, tuning.name)
            for rule in broken:
                print("  broken:", rule)
        print(
            f"fresh, seed {seed}, {bars} bars: with changes playable "
            f"{share(tally['playable'], tally['pieces'])}, as written {tally['as written']}, "
            f"least price proven {tally['proven']}, "
            f"broken rules {tally['broken rules']}; first proposal, processor time: "
            f"median {statistics.median(first):.2f} s, largest {max(first):.2f} s; {dict(failing)}"
        )
        sys.stdout.flush()


def _task(rng: random.Random, bars: int) -> tuple[WidePiece, Reach, Tuning, int]:
    piece = wide_piece(rng, bars)
    reach = REACHES[rng.choice(CONTRACT)]
    tuning = Tuning(out_of_tune(rng)) if rng.random() < 0.3 else STANDARD
    capo = rng.choice((0, 0, 0, 1, 2, 3, 5, 7))
    return piece, reach, tuning, capo


def growth(seed: int, count: int) -> None:
    """Processor time for 16 bars, 32 and so on; new music each, the mean of several pieces."""
    rng = random.Random(seed)
    lengths, several = (16, 32, 64, 128, 256), max(4, count // 25)
    for name, works, wanted in _works():
        pieces = [list(islice(chance_pieces(rng, playable=wanted), 16)) for _ in range(several)]
        row = []
        for bars in lengths:
            wholes = [joined(parts[: bars // 16]) for parts in pieces]
            took = []
            for _ in range(2):
                began = time.process_time()
                for whole in wholes:
                    works(whole)
                took.append(time.process_time() - began)
            row.append(min(took) / several)
        told = ", ".join(f"{bars} bars {seconds:.3f} s" for bars, seconds in zip(lengths, row, strict=True))
        ratios = [later / earlier for earlier, later in pairwise(row)]
        print(f"growth, seed {seed}, {name}: {told}; largest ratio {max(ratios):.2f}")
        sys.stdout.flush()


def _works() -> tuple[tuple[str, Callable[..., object], bool], ...]:
    return (
        ("a fingering", solve, True),
        ("why there is none", solve, False),
        ("the smallest change and three more", mend, False),
    )


def moving(seed: int, count: int) -> None:
    """One note moved, or written anew, in 32 bars: processor time until all is solved around it."""
    rng = random.Random(seed)
    took = []
    pieces = chance_pieces(rng, playable=True)
    for _ in range(max(4, count // 15)):
        explorer = Explorer.on(Neck(), joined(list(islice(pieces, 2))))
        answer = explorer.answer()
        assert isinstance(answer, Fingering)
        for note in rng.sample(answer.notes, 4):
            began = time.process_time()
            option = rng.choice(explorer.options(note.name))
            explorer.wish(NoteWish(note.name, option.place)).answer()
            took.append(time.process_time() - began)
            line = explorer.arrangement.line(note.line)
            notes = list(line)
            old = notes[note.name.index]
            notes[note.name.index] = Note(old.onset, old.duration, Pitch.from_midi(old.midi + 1))
            began = time.process_time()
            explorer.rewritten(explorer.arrangement.with_line(Line.of(note.line, notes))).answer()
            took.append(time.process_time() - began)
    took.sort()
    print(
        f"moving one note, seed {seed}, 32 bars, {len(took)} moves, processor time: median "
        f"{1000 * statistics.median(took):.0f} ms, 95 % {1000 * took[int(0.95 * len(took))]:.0f} ms, "
        f"largest {1000 * took[-1]:.0f} ms"
    )


PARTS = {"playable": playable, "growth": growth, "moving": moving}


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--part", choices=list(PARTS), action="append")
    args = parser.parse_args()
    print(f"made to have: {', '.join(ODDITIES)}")
    for name in args.part or PARTS:
        PARTS[name](args.seed, args.count)


if __name__ == "__main__":
    main()
