"""The screen “Record a piece”."""
