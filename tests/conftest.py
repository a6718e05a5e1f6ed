"""Fixtures for all tests: virtual sound devices, an empty home.

No example has a deadline: a busy machine is no fault.
"""

from pathlib import Path

import hypothesis
import pytest

from tests.pulse import pulse, virtual_devices

hypothesis.settings.register_profile("patient", deadline=None)
hypothesis.settings.load_profile("patient")


@pytest.fixture(autouse=True)
def _no_real_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is written for the player goes to their home: in tests to none at all."""
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    for name in ("XDG_CONFIG_HOME", "XDG_DOCUMENTS_DIR"):
        monkeypatch.delenv(name, raising=False)


__all__ = ["pulse", "virtual_devices"]
