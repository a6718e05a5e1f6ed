"""The fretboard: tunings, places, the hand, and the exact best fingering of two lines."""
