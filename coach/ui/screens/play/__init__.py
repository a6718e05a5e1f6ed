"""The screen “Play”."""
