"""Working on a piece: verdicts, hints, changes, and the stages a section goes through."""
