"""How much a recording may be, and how long reading it may take."""

MAX_LENGTH_S = 20 * 60
"""Longest recording; a first piece is a few minutes, a whole lesson is not a piece."""

MAX_FRAMES = MAX_LENGTH_S * 48_000
"""Most stereo frames kept in memory (460 MB as float32); 20 minutes at the usual 48 kHz."""

MAX_BYTES = 1_000_000_000
"""Largest file; 20 minutes of stereo float32 at 96 kHz still fit."""

MIN_RATE_HZ, MAX_RATE_HZ = 4_000, 384_000
"""Sample rates that recordings have; anything else is a broken header."""

MAX_CHANNELS = 32

STALL_S = 15.0
"""Longest time without a sign of life from the child process before it is ended."""

CHILD_MEMORY_BYTES = 2_000_000_000
"""Address space of the child process (libraries alone take about 0.6 GB of it)."""

BLOCK_FRAMES = 65_536
"""Frames handed on at a time."""

SALVAGE_S = 0.1
"""A damaged file of which less than this can be read counts as unreadable."""

MISSING_S = 0.1
"""Codecs count in frames of up to 60 ms: only a file that is shorter by more than this has lost sound."""
