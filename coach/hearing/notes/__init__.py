"""From pitch frames and onsets to the player's notes.

`segmenter` leads: `candidate` weighs what follows an onset, with `fresh` (what is new in the sound) out of
`memory` (the last second of it). `again` and `upset` tell a string struck once more, `legato` a voice that
moves on. `sounding` is the note under way; `doubt` withdraws it where its `character` is no string's and no
voice's. `manner` holds what is expected of a guitar, a voice, or either.
"""
