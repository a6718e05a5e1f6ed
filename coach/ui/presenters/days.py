"""Days as they are read."""

from datetime import date


def day_words(day: date) -> str:
    """A day in words: “12 December”."""
    return f"{day.day} {day:%B}"
