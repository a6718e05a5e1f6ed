"""Where triplets stand in a bar."""

from collections.abc import Iterable
from dataclasses import dataclass

from coach.music.meter import Meter
from coach.sheet.values import UNITS, units

_SPANS = (2 * UNITS, UNITS, UNITS // 2, UNITS // 4)
"""Triplets are written over a half, a quarter, an eighth or a 16th note."""


@dataclass(frozen=True, slots=True)
class Zone:
    """A triplet over [start, end) units of a bar."""

    start: int
    end: int


def triplet_zones(boundaries: Iterable[int], first: int, meter: Meter) -> tuple[Zone, ...]:
    """The triplets that a bar needs.

    Parameters
    ----------
    boundaries
        Where notes start or stop, units from the start of the (whole) bar.
    first
        Where the music of the bar starts: 0, or later in a bar that holds an upbeat.
    meter
        The bar's meter.

    Returns
    -------
    tuple of Zone
        Apart from each other, in order; every boundary off the plain grid lies in one.
    """
    all_times = sorted(set(boundaries))
    open_times = {time for time in all_times if time % (UNITS // 16)}
    zones: list[Zone] = []
    for parts in (3, 6, None):
        for span in _spans(meter):
            for start in sorted({time // span * span for time in open_times}):
                zone = Zone(start, start + span)
                if zone.end <= units(meter.bar) and _fits(zone, all_times, parts) and _apart(zone, zones):
                    zones.append(zone)
                    open_times -= set(range(zone.start, zone.end))
    return tuple(sorted((Zone(max(z.start, first), z.end) for z in zones), key=lambda zone: zone.start))


def _spans(meter: Meter) -> tuple[int, ...]:
    """The spans that do not hide the beats of the meter."""
    longest = units(meter.beat) // 3 if meter.compound else 2 * units(meter.beat)
    return tuple(span for span in _SPANS if span <= longest)


def _fits(zone: Zone, times: list[int], parts: int | None) -> bool:
    """Whether all times within fall on so many equal parts; with ``None`` any do, in short spans."""
    length = zone.end - zone.start
    if parts is None:
        return length <= UNITS
    step = length // parts
    return all((time - zone.start) % step == 0 for time in times if zone.start < time < zone.end)


def _apart(zone: Zone, others: list[Zone]) -> bool:
    return all(zone.end <= other.start or other.end <= zone.start for other in others)
