"""A ten-minute mp3 by the app's own paths: ``python -m tests.bench.recording_long [MINUTES]``.

The bundled pieces, looped, become an mp3; it is brought in, listened to for the first time, cut, and opened
again as the workbench does it: decoded, its kept analysis read, its bar tiles drawn. Each step runs in a
process of its own and tells processor time (its decoding child included) and the largest resident memory of
both.

Bars that were set before, against real time on an idle machine: opening at least 20 times, first listen at
least 8 times, memory under 600 MB.
"""

import json
import resource
import subprocess
import sys
import tempfile
import time
from fractions import Fraction
from pathlib import Path

import numpy as np
import soundfile

MINUTES = 10.0
RATE_HZ = 44_100
STEPS = ("bring in", "first listen", "open")


def make(path: Path, minutes: float) -> None:
    """An mp3 of the bundled pieces, one after the other, over and over."""
    from coach.bootstrap import make_services  # noqa: PLC0415 - heavy, and only in the parent
    from coach.sessions.piece.bringing_in import bundled_pieces, render  # noqa: PLC0415

    with tempfile.TemporaryDirectory() as data:
        sounds = [render(piece) for piece in bundled_pieces(make_services(Path(data)))]
    left = round(minutes * 60 * RATE_HZ)
    with soundfile.SoundFile(path, "w", RATE_HZ, 2, format="MP3") as out:
        while left > 0:
            for sound in sounds:
                out.write(sound[:left])
                left -= min(left, len(sound))


def step(name: str, data: Path, path: Path) -> None:
    """One step in this process; prints what it took as JSON."""
    from coach.bootstrap import make_services  # noqa: PLC0415
    from coach.music import Meter  # noqa: PLC0415
    from coach.sessions.piece.beat_desk import BeatDesk  # noqa: PLC0415
    from coach.sessions.piece.bringing_in import import_recording  # noqa: PLC0415
    from coach.sessions.piece.material import grid_of  # noqa: PLC0415
    from coach.sessions.practice_room import PracticeRoom  # noqa: PLC0415
    from coach.sessions.survey import survey_of  # noqa: PLC0415
    from coach.ui.presenters.choose_view import marks_of  # noqa: PLC0415
    from coach.ui.presenters.piece_view import tiles_of  # noqa: PLC0415

    services = make_services(data)
    room = PracticeRoom(services)
    began_s, told = time.perf_counter(), []
    jobs = type("Told", (), {"progress": lambda _self, share, _what: told.append(share)})()
    if name == "bring in":
        import_recording(services, room.journal, path, title="Long", jobs=jobs)
    elif name == "first listen":
        heard = survey_of(services, room.recording(jobs), jobs)
        marks = marks_of(heard)
        desk = BeatDesk(room.journal)
        if marks is not None:
            desk.set_grid(marks.grid(Meter(4, 4), Fraction(0)), Meter(4, 4), Fraction(0))
            desk.cut(8)
    else:
        recording = room.recording(jobs)
        piece = room.journal.progress.piece
        state = piece.section("A")
        tiles_of(piece, state, grid_of(piece), recording.audio.mono, recording.audio.rate_hz)
    wall_s = time.perf_counter() - began_s
    room.close()
    services.decoder().close()  # type: ignore[attr-defined]  # no port: ends its child, to be counted
    self_, child = resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu_s = self_.ru_utime + self_.ru_stime + child.ru_utime + child.ru_stime
    facts = {
        "cpu_s": cpu_s, "wall_s": wall_s, "told": len(told),
        "mb": self_.ru_maxrss / 1024, "child_mb": child.ru_maxrss / 1024,
    }  # fmt: skip
    print(json.dumps(facts))


def main(words: list[str]) -> None:
    if words and words[0] in STEPS:
        step(words[0], Path(words[1]), Path(words[2]))
        return
    minutes = float(words[0]) if words else MINUTES
    with tempfile.TemporaryDirectory() as folder:
        path, data = Path(folder) / "long.mp3", Path(folder) / "data"
        data.mkdir()
        make(path, minutes)
        print(f"{minutes:g} minutes of mp3, {path.stat().st_size / 1e6:.1f} MB")
        for name in STEPS:
            told = subprocess.run(
                [sys.executable, "-m", "tests.bench.recording_long", name, str(data), str(path)],
                check=True, capture_output=True, text=True,
            )  # fmt: skip
            facts = json.loads(told.stdout.splitlines()[-1])
            print(
                f"{name:13} {60 * minutes / facts['cpu_s']:6.1f} x real time by processor"
                f" ({facts['cpu_s']:.1f} s; {facts['wall_s']:.1f} s on the clock),"
                f" peak {facts['mb']:.0f} MB + child {facts['child_mb']:.0f} MB, told {facts['told']} x",
                flush=True,
            )


if __name__ == "__main__":
    np.seterr(all="raise", under="ignore")
    main(sys.argv[1:])
