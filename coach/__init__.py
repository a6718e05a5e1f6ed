"""Two-Line Coach: from a simple recorded piece to a finished first arrangement, by ear."""
