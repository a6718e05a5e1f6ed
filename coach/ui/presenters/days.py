"""Days as they are read."""

from datetime import date

LONG_AWAY_DAYS = 335
"""From eleven months on a day without its year could be taken for one of this year."""


def day_words(day: date, today: date | None = None) -> str:
    """A day in words: “12 December”, with its year where it is long away from today."""
    words = f"{day.day} {day:%B}"
    long_away = today is not None and abs((day - today).days) >= LONG_AWAY_DAYS
    return f"{words} {day.year}" if long_away else words
