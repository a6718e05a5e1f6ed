"""Fixtures for all tests: virtual sound devices. No example has a deadline: a busy machine is no fault."""

import hypothesis

from tests.pulse import pulse, virtual_devices

hypothesis.settings.register_profile("patient", deadline=None)
hypothesis.settings.load_profile("patient")

__all__ = ["pulse", "virtual_devices"]
