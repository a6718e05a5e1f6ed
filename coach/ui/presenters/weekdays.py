"""Weekdays as they are chosen and read; 0 is Monday."""

from collections.abc import Sequence

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
WEEKDAY_OPTIONS = tuple((str(day), name[:3]) for day, name in enumerate(WEEKDAYS))
"""What stands on seven small buttons, and its word."""
COUNTED_ON = "Your plan counts on these days; a day off is fine."


def toggled(days: Sequence[int], day: int) -> tuple[int, ...]:
    """The days with one more, or without it if it was there."""
    return tuple(sorted(set(days) ^ {day}))


def days_words(days: Sequence[int]) -> str:
    """The days in a sentence: “every Monday, Thursday and Friday”; none is every day, and so are all."""
    names = [WEEKDAYS[day] for day in sorted(set(days))]
    if len(names) in {0, len(WEEKDAYS)}:
        return "every day"
    *others, last = names
    return f"every {', '.join(others)} and {last}" if others else f"every {last}"
