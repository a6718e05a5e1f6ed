"""The screen “One drill”."""
