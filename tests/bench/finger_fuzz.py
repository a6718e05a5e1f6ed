"""Feeds `coach finger` with whatever people may bring: ``python -m tests.bench.finger_fuzz --seed N``.

Pieces made by chance are written as lines JSON, MusicXML and MIDI; half of them are then damaged. Every line
that is printed must keep the contract (`tests.fretboard.contract`), every fingering its rules.
"""

import argparse
import contextlib
import io
import json
import random
import sys
import tempfile
import traceback
from collections import Counter
from pathlib import Path
from types import SimpleNamespace
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from coach.cli.main import run
from coach.sheet import write_lines, write_midi, write_musicxml
from tests.fretboard.checker import broken_rules
from tests.fretboard.contract import broken_shape
from tests.fretboard.wide_pieces import wide_piece

WRITERS = {".json": write_lines, ".musicxml": write_musicxml, ".mid": write_midi}
STRANGE: tuple[Any, ...] = (
    None, True, -1, 0, 1e308, float("nan"), "", "1/0", "1/5", "-1", "x" * 400, [], {}, [[]], 128, -0.5, "½",
    2**70,
)  # fmt: skip


def damaged(rng: random.Random, data: bytes, ending: str) -> bytes:
    """One file with something wrong in it."""
    if ending == ".json" and rng.random() < 0.6:
        return _strange_json(rng, data)
    at, end = sorted((rng.randrange(len(data)), rng.randrange(len(data))))
    spoiled = bytearray(data)
    for _ in range(rng.randint(1, 12)):
        spoiled[rng.randrange(len(spoiled))] = rng.randrange(256)
    twice, short = data[:end] + data[at : at + rng.randrange(200)] + data[end:], data[:at] + data[end:]
    nonsense = rng.randbytes(rng.randrange(300))
    return rng.choice((data[:at], bytes(spoiled), twice, short, nonsense, b""))


def _strange_json(rng: random.Random, data: bytes) -> bytes:
    value = json.loads(data)
    for _ in range(rng.randint(1, 3)):
        target = rng.choice((value, *(note for line in ("melody", "bass") for note in _line(value, line))))
        if not isinstance(target, dict) or not target:
            continue
        key = rng.choice(list(target))
        if rng.random() < 0.2:
            del target[key]
        else:
            target[key] = rng.choice(STRANGE)
    return json.dumps(value).encode()


def _line(value: dict[str, Any], line: str) -> list[Any]:
    notes = value.get(line)
    return notes if isinstance(notes, list) else []


def feed(rng: random.Random, folder: Path, tally: Counter[str]) -> list[str]:
    """One call with a few files; what was wrong with its answer."""
    paths, whole = [], []
    for number in range(rng.randint(1, 4)):
        piece = wide_piece(rng, rng.choice((2, 4, 8))).arrangement
        ending = rng.choice(list(WRITERS))
        data = WRITERS[ending](piece)
        spoil = rng.random() < 0.5
        path = folder / f"{number}{ending}"
        path.write_bytes(damaged(rng, data, ending) if spoil else data)
        paths.append(str(path))
        whole.append(not spoil)
    words = ["finger", "--json", *paths]
    words += ["--reach", rng.choice(("starter", "seasoned"))] if rng.random() < 0.5 else []
    words += ["--capo", str(rng.randint(0, 9))] if rng.random() < 0.3 else []
    words += ["--tuning", "D2,A2,D3,G3,B3,E4"] if rng.random() < 0.2 else []
    words += ["--as-written"] if rng.random() < 0.2 else []
    out, told = io.StringIO(), io.StringIO()
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(told):
            code = run(words, lambda _folder: SimpleNamespace())  # type: ignore[arg-type, return-value]
    except BaseException:  # noqa: BLE001 - whatever it is, it is what is looked for
        return [f"raised for {words}: {traceback.format_exc()[-600:]}"]
    values = [json.loads(line) for line in out.getvalue().splitlines()]
    found = [wrong for value in values for wrong in broken_shape(value)]
    found += [wrong for value in values if "error" not in value for wrong in broken_rules(value)]
    found += ["not one line for each input"] if [v["input"] for v in values] != paths else []
    failed = ["error" in value for value in values]
    found += ["the exit code says otherwise"] if code != int(any(failed)) else []
    found += ["a whole file was refused"] if any(f and w for f, w in zip(failed, whole, strict=False)) else []
    found += ["a traceback"] if "Traceback" in told.getvalue() else []
    tally["files"] += len(paths)
    tally["refused"] += sum(failed)
    tally["damaged"] += len(paths) - sum(whole)
    return [f"{wrong} ({words})" for wrong in found]


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--keep", type=Path, help="folder for files that were answered wrongly")
    args = parser.parse_args()
    rng, tally, wrong = random.Random(args.seed), Counter[str](), 0
    for number in range(args.count):
        with tempfile.TemporaryDirectory() as folder:
            found = feed(rng, Path(folder), tally)
            wrong += bool(found)
            for line in found[:3]:
                print("  ", line)
            if found and args.keep:
                for path in Path(folder).iterdir():
                    args.keep.mkdir(exist_ok=True)
                    (args.keep / f"{number}_{path.name}").write_bytes(path.read_bytes())
    print(f"fuzz, seed {args.seed}: {args.count} calls, {dict(tally)}, calls answered wrongly: {wrong}")


if __name__ == "__main__":
    main()
