"""The screen “Welcome”."""
