"""Joins the adapters to the sessions and starts the command line or the app."""


def main() -> int:
    """Start the program with the words of the command line; returns the exit code."""
    return 1
