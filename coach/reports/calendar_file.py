"""Practice reminders as a calendar file (RFC 5545), with a rule and an alarm."""

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta

from icalendar import Alarm, Calendar, Event

WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
"""RFC 5545, 3.3.10, ``weekday``."""
ALARM_BEFORE = timedelta(minutes=5)


def reminders(
    *,
    first: date,
    at: time,
    minutes: int,
    made: datetime,
    weekdays: Sequence[int] = (),
    until: date | None = None,
    title: str = "Guitar: today's small step",
) -> bytes:
    """A repeating event with an alarm five minutes before.

    Parameters
    ----------
    first
        Day from which it counts.
    at
        Time of day; the event has no time zone, so that it stays at that time wherever the player is.
    minutes
        Length.
    made
        Moment of making, with its time zone.
    weekdays
        0 (Monday) to 6; every day without any.
    until
        Last day, if it ends.
    """
    start = datetime.combine(_first_day(first, weekdays), at)
    event = Event()
    event.add("uid", f"practice-{start:%Y%m%dT%H%M}@two-line-coach")
    event.add("dtstamp", made)
    event.add("dtstart", start)
    event.add("duration", timedelta(minutes=minutes))
    event.add("summary", title)
    event.add("description", "Tune, a few minutes of ear, one small step on your piece. A day off is fine.")
    event.add("rrule", _rule(weekdays, until, at))
    event.add("transp", "TRANSPARENT")
    event.add_component(_alarm(title))
    calendar = Calendar()
    calendar.add("prodid", "-//Two-Line Coach//Practice reminders//EN")
    calendar.add("version", "2.0")
    calendar.add_component(event)
    return bytes(calendar.to_ical())


def _first_day(first: date, weekdays: Sequence[int]) -> date:
    """The first day that fits the rule: RFC 5545 asks that the start is one of its days."""
    days = (first + timedelta(days=step) for step in range(7))
    return next(day for day in days if not weekdays or day.weekday() in weekdays)


def _rule(weekdays: Sequence[int], until: date | None, at: time) -> dict[str, object]:
    rule: dict[str, object] = {"freq": "WEEKLY" if weekdays else "DAILY"}
    if weekdays:
        rule["byday"] = [WEEKDAYS[day] for day in sorted(set(weekdays))]
    if until is not None:
        rule["until"] = datetime.combine(until, at)
    return rule


def _alarm(title: str) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", title)
    alarm.add("trigger", -ALARM_BEFORE)
    return alarm
