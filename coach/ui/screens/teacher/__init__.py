"""The screen “Teacher”."""
