"""The screen “Workbench”."""
