"""Whole ear sets by sound alone, in a real window: ``python -m tests.bench.ear_live FOLDER [--days N]``.

FOLDER gets the app's data. Needs PulseAudio for the virtual devices, as the tests do. Each day's set is begun
with one tap; then nobody touches the screen. ``--minutes`` is what the settings ask for, ``--drills`` ends a
set early.
"""

import argparse
from pathlib import Path

import tests.ui.conftest  # noqa: F401 - sets the environment before Kivy is imported
from coach.practice.settings import Settings
from tests.pulse import PrivatePulse, in_this_process
from tests.ui.driver import open_window
from tests.ui.live_set import DoneSet, play_set


def tell(day: int, done: DoneSet) -> None:
    for number, answer in enumerate(done.answers, 1):
        took = "" if answer.took_s is None else f"{answer.took_s:5.1f} s"
        print(f"{number:2d} {answer.drill:20} {answer.by:7} {answer.word:8} {took} {answer.heard}")
    right = sum(answer.right for answer in done.answers)
    print(f"day {day + 1}: promised “{done.promised}”, took {done.seconds / 60:.2f} min of real time,")
    print(f"  {right} of {len(done.answers)} right; on the screen: {done.words}", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--days", type=int, default=1)
    parser.add_argument("--minutes", type=int, default=4)
    parser.add_argument("--drills", type=int, default=100)
    parser.add_argument("--no-voice", action="store_true")
    args = parser.parse_args()
    settings = Settings(ear_minutes=args.minutes, minutes_a_day=60, can_sing=not args.no_voice)
    window = open_window()
    with PrivatePulse() as pulse, in_this_process(pulse):
        for day in range(args.days):
            window.begin()
            done = play_set(window, pulse, args.folder, args.drills, settings=settings, day=day)
            tell(day, done)


if __name__ == "__main__":
    main()
