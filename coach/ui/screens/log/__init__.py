"""The screen “Log”."""
