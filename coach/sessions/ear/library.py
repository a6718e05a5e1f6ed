"""The drills there are: the project's own and the teacher's, and what a prompt must know about the player."""

from pathlib import Path

from coach.drills.context import LEAST_VOICE, UNKNOWN_VOICE, DrillContext
from coach.drills.data import Drill
from coach.drills.loading import MOST_BYTES, load_drills
from coach.errors import CoachError, DrillDataError, UnreadableFileError
from coach.pieces.bundled import load_bundled
from coach.practice.settings import Settings
from coach.sessions.ports import Folder

OWN_FOLDER = "drills"
"""Below the data folder: where a teacher or a player may put drills of their own."""
_PIECES = "pieces/"
_DRILLS = "drills/"


def drills_of(exercises: Folder, data_folder: Path) -> tuple[Drill, ...]:
    """All drills, in the order of meeting.

    Raises
    ------
    DrillDataError
        Naming file, line and field of the first wrong one; drills of one's own must have new names.
    """
    return load_drills([*_bundled(exercises), *((str(path), _small(path)) for path in _own(data_folder))])


def readable_drills(exercises: Folder, data_folder: Path) -> tuple[tuple[Drill, ...], tuple[str, ...]]:
    """All drills that can be read, and what is wrong with the others; one broken file stops no practice."""
    files, faults = _bundled(exercises), list[str]()
    for path in _own(data_folder):
        try:
            with_this = [*files, (str(path), _small(path))]
            load_drills(with_this)
        except CoachError as error:
            faults.append(error.message)
        else:
            files = with_this
    return load_drills(files), tuple(faults)


def context_of(
    settings: Settings, *, voice: tuple[int, ...] | None = None, melody: tuple[int, ...] = ()
) -> DrillContext:
    """The player and the piece as prompts need them.

    Parameters
    ----------
    settings
        Tuning, words, and a voice range chosen by hand.
    voice
        Lowest and highest note as heard (MIDI), which is believed once it is wide enough to sing in.
    melody
        The tune that the drills from the piece prepare (MIDI); they need it.
    """
    heard = tuple(voice or ())
    if settings.voice is not None:
        chosen = (settings.voice.lowest, settings.voice.highest)
    elif len(heard) == 2 and heard[1] - heard[0] >= LEAST_VOICE:
        chosen = (heard[0], heard[1])
    else:
        chosen = UNKNOWN_VOICE
    return DrillContext(
        voice=chosen,
        tuning=settings.tuning,
        theory_words=settings.theory_words,
        naming=settings.naming,
        melody=melody,
    )


def bundled_melody(exercises: Folder) -> tuple[int, ...]:
    """The tune of the first bundled piece's first section: for piece drills before there is a piece."""
    names = [name for name in exercises.names(".toml") if name.startswith(_PIECES)]
    piece = load_bundled(exercises.read(names[0]), names[0])
    sections = piece.arrangement.sections
    end = sections[1].onset if len(sections) > 1 else piece.melody.end
    return tuple(note.midi for note in piece.melody if note.onset < end)


def _bundled(exercises: Folder) -> list[tuple[str, bytes]]:
    return [(name, exercises.read(name)) for name in exercises.names(".toml") if name.startswith(_DRILLS)]


def _own(data_folder: Path) -> list[Path]:
    own = data_folder / OWN_FOLDER
    return sorted(own.glob("*.toml")) if own.is_dir() else []


def _small(path: Path) -> bytes:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise DrillDataError(f"{path} is too long for a drill: {MOST_BYTES} bytes are the limit.")
        return path.read_bytes()
    except OSError as error:
        raise UnreadableFileError(
            f"{path} cannot be read: check that it is there and may be read."
        ) from error
