"""Live sound: microphone and loudspeaker through PortAudio."""

from coach.audio.streams.catalog import PortAudioCatalog

__all__ = ["PortAudioCatalog"]
