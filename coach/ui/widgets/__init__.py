"""Widgets that the screens share. Each takes the `Look` first and is handed values, never sessions."""
