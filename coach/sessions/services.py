"""The bundle of everything that commands and screens may reach; `coach.bootstrap` fills it."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from coach.hearing.engines import PitchEngine
from coach.hearing.evidence import EvidenceModel
from coach.practice.settings import Settings
from coach.sessions.player_port import LoopPlayer
from coach.sessions.ports import (
    AnalysisCache,
    AudioOutput,
    Clock,
    Decoder,
    DeviceCatalog,
    Encoder,
    FileWriter,
    Folder,
    PieceLibrary,
    PracticeLog,
    SettingsStore,
    Shelf,
    Stretcher,
)
from coach.sessions.ports.exchange import Exchange
from coach.sheet.fonts import SheetFonts


@dataclass(frozen=True, slots=True)
class Services:
    """Lazy factories: nothing is opened, imported or made before it is asked for.

    Parameters
    ----------
    data_folder
        Where log, pieces, settings and cache live.
    elsewhere
        The same services for another data folder.
    log
        Opens the log for writing; ``LockedError`` while another copy of the app has it.
    read_log
        Opens the log for reading, always allowed (an empty one where there is none yet).
    player
        A player of recordings on an open output.
    engine
        A pitch engine by name: ``auto``, ``neural`` or ``yin``.
    exercises
        The project's own drills and pieces.
    exchange
        Packs, back-ups, learners' reports.
    shelf
        The player's own files, to choose from.
    """

    data_folder: Path
    elsewhere: Callable[[Path], "Services"]
    clock: Clock
    log: Callable[[], PracticeLog]
    read_log: Callable[[], PracticeLog]
    settings: Callable[[], SettingsStore]
    library: Callable[[], PieceLibrary]
    cache: Callable[[], AnalysisCache]
    files: Callable[[], FileWriter]
    decoder: Callable[[], Decoder]
    encoder: Callable[[], Encoder]
    stretcher: Callable[[], Stretcher]
    devices: Callable[[], DeviceCatalog]
    player: Callable[[AudioOutput], LoopPlayer]
    engine: Callable[[str], PitchEngine]
    evidence_model: Callable[[], EvidenceModel]
    fonts: Callable[[], SheetFonts]
    exercises: Folder
    exchange: Callable[[], Exchange]
    shelf: Callable[[], Shelf]

    def current_settings(self) -> Settings:
        """The settings as they are now."""
        return self.settings().load()
