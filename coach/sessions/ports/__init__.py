"""The ports: what the use cases need of the world, as small protocols.

The adapters live in ``coach.audio`` and ``coach.store``; one contract suite runs over them and the fakes.
"""

from coach.sessions.ports.data import (
    AnalysisCache,
    FileWriter,
    Folder,
    PieceFiles,
    PieceLibrary,
    PracticeLog,
    SettingsStore,
)
from coach.sessions.ports.devices import (
    AudioInput,
    AudioOutput,
    DeviceCatalog,
    HandedSound,
    InputBlock,
    Sound,
    SoundDevice,
    StreamState,
)
from coach.sessions.ports.jobs import Jobs
from coach.sessions.ports.recordings import DecodedAudio, Decoder, Emphasis, Encoder, Stretcher
from coach.sessions.ports.samples import Samples
from coach.sessions.ports.screen import UiCalls
from coach.sessions.ports.shelf import OnShelf, Place, Shelf
from coach.sessions.ports.time import Clock

__all__ = [
    "AnalysisCache",
    "AudioInput",
    "AudioOutput",
    "Clock",
    "DecodedAudio",
    "Decoder",
    "DeviceCatalog",
    "Emphasis",
    "Encoder",
    "FileWriter",
    "Folder",
    "HandedSound",
    "InputBlock",
    "Jobs",
    "OnShelf",
    "PieceFiles",
    "PieceLibrary",
    "Place",
    "PracticeLog",
    "Samples",
    "SettingsStore",
    "Shelf",
    "Sound",
    "SoundDevice",
    "StreamState",
    "Stretcher",
    "UiCalls",
]
