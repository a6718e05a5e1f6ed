"""The screen “Today”."""
