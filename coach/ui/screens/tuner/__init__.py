"""The screen “Tuner”."""
