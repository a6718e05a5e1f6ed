"""The screen “Choose a piece”."""
