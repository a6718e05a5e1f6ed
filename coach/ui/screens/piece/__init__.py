"""The screen “The piece”."""
