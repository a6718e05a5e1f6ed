"""The screen “The beat”."""
