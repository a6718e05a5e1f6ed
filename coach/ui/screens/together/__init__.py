"""The screen “Together”."""
