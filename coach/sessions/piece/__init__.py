"""Working on a piece: from the recording to the finished arrangement."""
