"""The command line twin of the screens."""
