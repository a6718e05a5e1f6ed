"""A whole ear set by sound alone, in a real window: ``python -m tests.bench.ear_live FOLDER [--drills N]``.

FOLDER gets the app's data. Needs PulseAudio for the virtual devices, as the tests do.
"""

import argparse
from pathlib import Path

import tests.ui.conftest  # noqa: F401 - sets the environment before Kivy is imported
from tests.pulse import PrivatePulse, in_this_process
from tests.ui.driver import open_window
from tests.ui.live_set import play_set


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--drills", type=int, default=100)
    args = parser.parse_args()
    window = open_window()
    window.begin()
    with PrivatePulse() as pulse, in_this_process(pulse):
        answers = play_set(window, pulse, args.folder, args.drills)
        window.end()
    for number, answer in enumerate(answers, 1):
        print(f"{number:2d} {answer.drill:20} {answer.by:7} {answer.word:8} {answer.heard}")
    print(f"{sum(answer.right for answer in answers)} of {len(answers)} right")


if __name__ == "__main__":
    main()
