"""Hearing: from samples to pitches, notes, beats, and to evidence for a note in a mix."""
