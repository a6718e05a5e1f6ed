"""The steady clock that the streams run on: the one of the `Clock` port's ``steady_s``."""

import time


def steady_s() -> float:
    """Seconds of a clock that never jumps."""
    return time.monotonic()
