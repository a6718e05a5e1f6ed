"""The screen “Set-up”."""
