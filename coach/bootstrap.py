"""Joins the adapters to the sessions and starts the command line or the app.

The only reader of the wall clock, the environment and platformdirs. Every factory imports what it needs when
it is called, so that ``coach log`` never waits for a neural network.
"""

from __future__ import annotations

import json
import os
import string
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from datetime import date, datetime
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, cast

import platformdirs

from coach.errors import MissingPartError

if TYPE_CHECKING:
    from coach.hearing.engines import PitchEngine
    from coach.hearing.evidence import EvidenceModel
    from coach.sessions.player_port import LoopPlayer
    from coach.sessions.ports import (
        AnalysisCache,
        AudioOutput,
        Decoder,
        DeviceCatalog,
        Encoder,
        FileWriter,
        PieceLibrary,
        PracticeLog,
        SettingsStore,
        Shelf,
        Stretcher,
    )
    from coach.sessions.ports.exchange import Exchange
    from coach.sessions.services import Services
    from coach.sheet.fonts import SheetFonts

SWITCH_INTERVAL_S = 0.0005
"""How often threads take turns: with Python's 5 ms sound starves beside a busy thread (measured)."""


class SystemClock:
    """The computer's clocks."""

    def now(self) -> datetime:
        """The present moment in the local time zone."""
        return datetime.now().astimezone()

    def today(self) -> date:
        """The present local day."""
        return self.now().date()

    def steady_s(self) -> float:
        """Seconds of the monotonic clock."""
        return time.monotonic()

    def sleep(self, seconds: float) -> None:
        """Let time pass."""
        time.sleep(seconds)


def data_folder(named: str | None) -> Path:
    """The folder for log and pieces: as named, else ``COACH_DATA``, else the user's data folder."""
    place = named or os.environ.get("COACH_DATA")
    return Path(place) if place else Path(platformdirs.user_data_dir("two-line-coach", appauthor=False))


def own_folder(name: str) -> Path:
    """The project's own data: inside the package when installed from a wheel, beside it in a checkout."""
    package = Path(__file__).parent
    inside = package / name
    return inside if inside.is_dir() else package.parent / name


def kivy_fonts() -> Path:
    """The folder of the fonts in Kivy's package data, found without importing Kivy.

    Raises
    ------
    MissingPartError
        If Kivy is not installed.
    """
    spec = find_spec("kivy")
    if spec is None or spec.origin is None:
        raise MissingPartError(
            "The package kivy, whose fonts the sheet uses, is missing: install it with pip."
        )
    return Path(spec.origin).parent / "data" / "fonts"


def make_services(folder: Path) -> Services:
    """All adapters, joined to the ports; nothing is opened before it is asked for."""
    from coach.sessions.services import Services
    from coach.store.folders import DataFolder

    clock = SystemClock()
    assets = DataFolder(own_folder("assets"))
    return Services(
        data_folder=folder,
        elsewhere=make_services,
        clock=clock,
        log=lambda: _log(folder, read_only=False),
        read_log=lambda: _log(folder, read_only=True),
        settings=cache(lambda: _settings(folder)),
        library=cache(lambda: _library(folder)),
        cache=cache(lambda: _cache(folder)),
        files=cache(_writer),
        decoder=cache(_decoder),
        encoder=cache(_encoder),
        stretcher=cache(_stretcher),
        devices=cache(_devices),
        player=lambda output: _player(folder, output),
        engine=_engine,
        evidence_model=cache(lambda: _evidence_model(assets.read)),
        fonts=cache(_fonts),
        exercises=DataFolder(own_folder("exercises")),
        exchange=cache(lambda: _exchange(folder)),
        shelf=cache(_shelf),
    )


def _log(folder: Path, *, read_only: bool) -> PracticeLog:
    from coach.store.log import SqliteLog

    return SqliteLog.reading(folder) if read_only else SqliteLog.writing(folder)


def _settings(folder: Path) -> SettingsStore:
    from coach.store.settings import JsonSettings

    return JsonSettings(folder / "settings.json")


def _library(folder: Path) -> PieceLibrary:
    from coach.store.pieces import FolderLibrary

    return FolderLibrary(folder / "pieces")


def _cache(folder: Path) -> AnalysisCache:
    from coach.store.cache import DiskCache

    return DiskCache(folder / "cache")


def _exchange(folder: Path) -> Exchange:
    from coach.store.exchange import DiskExchange

    return DiskExchange(folder)


def _shelf() -> Shelf:
    from coach.sessions.ports import Place
    from coach.sessions.ports.shelf import DOCUMENTS, HOME
    from coach.store.shelf import DiskShelf

    home = Path.home()
    usual = [
        Place("Music", Path(platformdirs.user_music_dir())),
        Place("Downloads", Path(platformdirs.user_downloads_dir())),
        Place(DOCUMENTS, Path(platformdirs.user_documents_dir())),
        Place(HOME, home),
    ]
    if sys.platform == "win32":
        usual += [Place(f"Drive {letter}", Path(f"{letter}:/")) for letter in string.ascii_uppercase]
    mounts = ("/media", "/run/media")
    return DiskShelf(tuple(usual), (*(Path(mount) / home.name for mount in mounts), Path("/Volumes")))


def _writer() -> FileWriter:
    from coach.store.files import AtomicWriter

    return AtomicWriter()


def _decoder() -> Decoder:
    from coach.audio.decode import FileDecoder

    return FileDecoder()


def _encoder() -> Encoder:
    from coach.audio.encode import FileEncoder

    return FileEncoder()


def _stretcher() -> Stretcher:
    from coach.audio.stretch import RubberStretcher

    return RubberStretcher()


def _devices() -> DeviceCatalog:
    from coach.audio.streams import PortAudioCatalog

    return PortAudioCatalog()


def _player(folder: Path, output: AudioOutput) -> LoopPlayer:
    from coach.audio.player.section_player import PullOutput, SectionPlayer

    # Every output that this program opens can pull; the port says no more than screens may ask for.
    return SectionPlayer(cast("PullOutput", output), _stretcher(), _cache(folder))


def _engine(name: str) -> PitchEngine:
    from coach.hearing.engines import engine_named

    return engine_named(name)


def _evidence_model(read: Callable[[str], bytes]) -> EvidenceModel:
    from coach.hearing.evidence import EvidenceModel

    return EvidenceModel.from_json(read("evidence.json"))


def _fonts() -> SheetFonts:
    from coach.sheet.fonts import SheetFonts

    folder = kivy_fonts()
    styles = ("Regular", "Bold", "Italic", "BoldItalic")
    read = {style: (folder / f"Roboto-{style}.ttf").read_bytes() for style in styles}
    return SheetFonts(
        regular=read["Regular"], bold=read["Bold"], italic=read["Italic"], bold_italic=read["BoldItalic"]
    )


def prepare_process(folder: Path) -> None:
    """Set what must be set before the heavy packages are imported."""
    sys.setswitchinterval(SWITCH_INTERVAL_S)
    os.environ["ORT_DISABLE_TELEMETRY"] = "1"
    os.environ.setdefault("KIVY_HOME", str(folder / "kivy"))
    os.environ.setdefault("KIVY_NO_ARGS", "1")
    os.environ.setdefault("KIVY_NO_CONSOLELOG", "1")
    os.environ.setdefault("KIVY_NO_FILELOG", "1")
    os.environ.setdefault("KIVY_WINDOW", "sdl2")
    os.environ.setdefault("KIVY_CLIPBOARD", "sdl2")
    # Without a display SDL would draw offscreen for ever instead of failing.
    if sys.platform.startswith("linux"):
        os.environ.setdefault("SDL_VIDEODRIVER", "wayland,x11")


def _services_for(named: str | None) -> Services:
    folder = data_folder(named)
    prepare_process(folder)
    return make_services(folder)


def main() -> int:
    """Start the program with the words of the command line; returns the exit code."""
    words = sys.argv[1:]
    try:
        return _start(words)
    except Exception:
        return _fault(words, traceback.format_exc())


def _start(words: list[str]) -> int:
    # One thread for linear algebra, before numpy is imported: on small matrices more of them only wait for
    # each other (measured beside other work: a check takes 0.95 s with two, 0.14 s with one).
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    if opens_app(words):
        from coach.ui.app import run as run_app

        return run_app(_services_for(words[1] if words else None))
    from coach.cli.main import run as run_command

    return run_command(words, _services_for)


def _fault(words: list[str], report: str) -> int:
    """A fault of the program: one sentence for the user, and the report in a file for who mends it."""
    with tempfile.NamedTemporaryFile("w", prefix="coach-fault-", suffix=".txt", delete=False) as file:
        file.write(report)
    message = (
        f"Something went wrong inside the program; nothing of yours is lost. Details are in {file.name}: "
        "send that file with your words to who gave you the program."
    )
    if "--json" in words:
        print(json.dumps({"input": None, "error": {"code": "fault", "message": message}}))
    print(message, file=sys.__stderr__)
    return 1


def opens_app(words: list[str]) -> bool:
    """Whether the command line names no command: ``coach`` or ``coach --data DIR``."""
    return not words or (len(words) == 2 and words[0] == "--data")
