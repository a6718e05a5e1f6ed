"""Hearing: from samples to pitches, notes, beats, and to evidence for a note in a mix.

The player, live or recorded: `listening` joins `decimate`, `tracker` (with its `engines`) and ``notes`` into
one ear; ``tuner``, `level`, `room`, `roundtrip` and `voice_range` stand beside it. A take of both lines:
`take`.

A recording: ``beats*`` for tempo, beats, bars and phrases, `tuning_offset`, `density`, `key_finding`, and
``evidence``, which tells how likely each pitch is in a stretch of it.
"""
