"""The screen “Keep it safe”."""
