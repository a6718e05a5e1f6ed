"""The word by which a command is told how far a hand spans."""

import argparse

from coach.fretboard import REACHES

_HELP = (
    "how far the hand spans: starter (the default; first finger on fret 3, little finger on fret 6) or "
    "seasoned (frets 1 and 5); or, as set-up finds them, narrow (not yet frets 3 and 6) and own (3 and 7)"
)


def add_reach(parser: argparse.ArgumentParser) -> None:
    """Declare ``--reach``."""
    parser.add_argument("--reach", choices=list(REACHES), default="starter", help=_HELP)
