"""Computed sound: prompts, clicks, the other line, and a simulated player."""
