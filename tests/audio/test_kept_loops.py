"""Passes that were kept by an older version, whose sound was another one."""

import hashlib

from coach.audio import attacks, filters, stretch
from coach.audio.player import render

KNOWN_SOUND = (3, "1bb36969933f")


def test_another_sound_of_slowed_loops_has_another_version() -> None:
    """Old passes must not be played: raise _VERSION, then write both down here."""
    constants = [
        f"{module.__name__}.{name}={value!r}"
        for module in (attacks, filters, stretch)
        for name, value in sorted(vars(module).items())
        if name.strip("_").isupper()
    ]
    digest = hashlib.sha256("\n".join(constants).encode()).hexdigest()[:12]
    assert (render._VERSION, digest) == KNOWN_SOUND
