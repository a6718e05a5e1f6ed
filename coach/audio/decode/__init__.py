"""Audio files in: our own reader for plain wav files, a guarded child process for everything else."""

from coach.audio.decode.reader import FileDecoder

__all__ = ["FileDecoder"]
