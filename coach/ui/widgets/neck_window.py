"""Which part of the neck is in sight: how wide a fret is drawn, and which one comes first. Knows no Kivy."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

FEWEST_FRETS = 4
"""Nearer than this the neck is not drawn: a hand lies over four frets (common practice, no source)."""
STEP = 1.5
"""Each step is so many times nearer or wider than the one before."""
_ROUNDING = 1e-6


@dataclass(frozen=True, slots=True)
class NeckWindow:
    """The window on a neck whose frets are all drawn equally wide.

    Parameters
    ----------
    room, target
        Pixels along the neck without the nut's head; least width of a fret.
    frets
        How many frets there are.
    zoom
        1 shows as many frets as their least width allows; more is nearer.
    first
        The fret at the nut's side; fractions while it is dragged.
    needed
        Frets that have to be in sight together, such as all that the hand presses: never nearer than that.
    """

    room: float
    target: float
    frets: int
    zoom: float = 1.0
    first: float = 0.0
    needed: int = 1

    @property
    def _base(self) -> float:
        return max(self.target, self.room / self.frets)

    @property
    def fret_width(self) -> float:
        """Width of a fret in pixels, never less than a target."""
        widest = max(self._base, self.room / max(self.needed, FEWEST_FRETS))
        return min(self._base * self.zoom, widest)

    @property
    def frets_shown(self) -> int:
        """Whole frets that fit, at least one."""
        return max(1, int(self.room / self.fret_width + _ROUNDING))

    @property
    def last_first(self) -> int:
        """The furthest first fret."""
        return max(0, self.frets - self.frets_shown)

    @property
    def nearest(self) -> float:
        """The largest zoom; 1 where the neck cannot be drawn any nearer."""
        return max(1.0, self.room / FEWEST_FRETS / self._base)

    @property
    def shows_all(self) -> bool:
        """Whether no fret is out of sight."""
        return self.frets_shown >= self.frets

    def zoomed(self, zoom: float, about: float) -> "NeckWindow":
        """Nearer or wider; what lies at ``about``, in frets from the nut, stays where it is seen."""
        after = replace(self, zoom=min(max(zoom, 1.0), self.nearest))
        share = (about - self.first) * self.fret_width
        return after.moved(about - share / after.fret_width)

    def moved(self, first: float) -> "NeckWindow":
        """With another fret at the nut's side, as far as there are frets."""
        return replace(self, first=float(min(max(first, 0.0), self.last_first)))

    def with_in_sight(self, frets: Iterable[int]) -> "NeckWindow":
        """Moved as little as possible, so that some pressed frets are in sight, the lowest before all."""
        pressed = [fret for fret in frets if fret > 0]
        if not pressed:
            return self
        window = replace(self, needed=max(pressed) - min(pressed) + 1)
        if min(pressed) - 1 < window.first:
            return window.moved(min(pressed) - 1)
        if max(pressed) > window.first + window.frets_shown:
            return window.moved(max(pressed) - window.frets_shown)
        return window.moved(window.first)
