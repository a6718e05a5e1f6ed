"""The screen “Ear”."""
