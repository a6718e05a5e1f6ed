"""The screen “Find a file”."""
