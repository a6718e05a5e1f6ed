"""The screen “Practice days and reminders”."""
