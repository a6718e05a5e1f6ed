"""Bringing a piece in: a bundled one, or the player's own recording."""

import tempfile
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from random import Random

from coach.errors import UnreadableFileError
from coach.pieces.bundled import BundledPiece, load_bundled
from coach.practice.events import PieceChosen
from coach.sessions.journal import Journal
from coach.sessions.ports import Jobs, Samples
from coach.sessions.services import Services
from coach.tones.ensemble import EnsembleManner, humanised, recording

RECORDING_RATE_HZ = 44100
BUNDLED_FOLDER = "pieces/"


@dataclass(frozen=True, slots=True)
class BundledChoice:
    """A piece on offer: nothing of its notes is told."""

    id: str
    title: str
    bars: int
    meter: str
    tempo_bpm: float
    pickup: Fraction


def bundled_pieces(services: Services) -> tuple[BundledPiece, ...]:
    """All pieces that come with the app, in order of their file names."""
    names = [name for name in services.exercises.names(".toml") if name.startswith(BUNDLED_FOLDER)]
    return tuple(load_bundled(services.exercises.read(name), name) for name in names)


def choices(services: Services) -> tuple[BundledChoice, ...]:
    """What the player may choose from."""
    return tuple(
        BundledChoice(p.id, p.title, p.arrangement.bar_count, str(p.meter), p.tempo_bpm, p.pickup)
        for p in bundled_pieces(services)
    )


def render(piece: BundledPiece) -> Samples:
    """The recording of a bundled piece, stereo; the same every time."""
    rng = Random(piece.seed)
    manner = EnsembleManner(detune_cents=piece.detune_cents)
    return recording(humanised(piece.parts(), rng, manner), RECORDING_RATE_HZ, rng, manner=manner)


def take_bundled(services: Services, journal: Journal, bundled_id: str, jobs: Jobs | None = None) -> str:
    """Take a bundled piece in hand; returns the piece's identifier.

    Raises
    ------
    UnreadableFileError
        If there is no such piece.
    ScopeError
        If another piece is in hand.
    """
    piece = next((p for p in bundled_pieces(services) if p.id == bundled_id), None)
    if piece is None:
        raise UnreadableFileError(f"There is no bundled piece “{bundled_id}”: choose one from the list.")
    if jobs is not None:
        jobs.progress(0.1, "Playing the piece in")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{piece.id}.flac"
        services.encoder().encode(path, render(piece), RECORDING_RATE_HZ)
        return import_recording(services, journal, path, title=piece.title, bundled=piece.id, jobs=jobs)


def import_recording(
    services: Services,
    journal: Journal,
    path: Path,
    *,
    title: str,
    bundled: str | None = None,
    jobs: Jobs | None = None,
) -> str:
    """Copy a recording into a new piece's folder and take the piece in hand.

    The file is decoded first: what cannot be heard is not taken in.

    Returns
    -------
    str
        The piece's identifier.
    """
    journal.require_allowed(PieceChosen("", title, None, bundled))
    audio = services.decoder().decode(path, jobs)
    kept = services.library().add(title, path)
    journal.write(PieceChosen(kept.piece, title, audio.sha256, bundled))
    return kept.piece
