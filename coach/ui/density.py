"""Sets how many pixels a dp has, by the size of the window."""

from kivy.metrics import Metrics

from coach.ui.theme import zoom_for

_OWN_DENSITY = float(Metrics.density)
"""As the system states it."""


def fit_density(width_px: float, height_px: float) -> bool:
    """Fit the density to a window of so many pixels; true if it changed: make all widgets anew then."""
    wanted = _OWN_DENSITY * zoom_for(width_px / _OWN_DENSITY, height_px / _OWN_DENSITY)
    if abs(wanted - Metrics.density) < 0.05 * wanted:
        return False
    Metrics.density = wanted
    return True
