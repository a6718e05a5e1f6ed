"""The screen “A key for the guitar”."""
