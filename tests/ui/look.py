"""Writes pictures of screens to ``out/``, to be looked at: ``python -m tests.ui.look [word...] [--all]``."""

import argparse
from pathlib import Path

import tests.ui.conftest  # noqa: F401 - sets the environment before Kivy is imported
from coach.ui.theme import EVENING, PAPER, Look
from tests.ui.driver import open_window
from tests.ui.five_states import CASES
from tests.ui.stage import a_context

SIZES = ((1280, 800), (800, 480), (2560, 1600), (800, 1280))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("words", nargs="*", default=list(CASES))
    parser.add_argument("--state", default="ready")
    parser.add_argument("--size", default="1280x800")
    parser.add_argument("--scale", type=float, default=1.0)
    parser.add_argument("--light", action="store_true")
    parser.add_argument("--all", action="store_true", help="all sizes, both themes, text at 1 and 1.5")
    args = parser.parse_args()
    window = open_window()
    sizes = SIZES if args.all else (tuple(int(side) for side in args.size.split("x")),)
    ways = [(1.0, EVENING), (1.5, PAPER)] if args.all else [(args.scale, PAPER if args.light else EVENING)]
    for word in args.words:
        for width, height in sizes:
            for scale, theme in ways:
                window.begin()
                window.resize(width, height)
                window.show(CASES[word].make(a_context(Look(theme, scale)), args.state))
                named = word.replace(": ", "-").replace(" ", "_")
                name = f"{named}_{args.state}_{width}x{height}_{theme.name}_{scale:g}.png"
                window.picture(Path("out") / name)
                window.end()


if __name__ == "__main__":
    main()
