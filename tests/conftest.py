"""Fixtures for all tests: virtual sound devices."""

from tests.pulse import pulse, virtual_devices

__all__ = ["pulse", "virtual_devices"]
