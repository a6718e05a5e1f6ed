"""The screen “Finish”."""
