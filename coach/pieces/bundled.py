"""Pieces that come with the app, and pieces of the same form that a teacher writes: TOML data, read whole."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import cast

from coach.errors import CoachError, DrillDataError
from coach.music.key import Key
from coach.music.meter import Meter
from coach.music.pitch import Pitch
from coach.notation.arrangement import Arrangement
from coach.notation.line import Line, LineKind
from coach.notation.note import Note
from coach.notation.section import Section
from coach.tones.prompt import Part, PromptNote, Timbre

_LET_GO = 0.94
"""Notes are let go a little before their written end. Common practice, no source."""
_INNER_DB = -9.0
_BASS_DB = -1.5


@dataclass(frozen=True, slots=True)
class BundledPiece:
    """A short piece with everything that a recording of it needs.

    Parameters
    ----------
    id
        A word for files and events.
    arrangement
        Title, meter, key, tempo, upbeat, both lines, sections.
    inner
        Soft notes between tune and bass; they may overlap each other.
    tune_sound, bass_sound, inner_sound
        The computed instruments.
    detune_cents
        How far the ensemble is from standard pitch, -50 to 50.
    seed
        Of the players' human errors: the recording is the same every time.
    """

    id: str
    arrangement: Arrangement
    inner: tuple[Note, ...]
    tune_sound: Timbre
    bass_sound: Timbre
    inner_sound: Timbre
    detune_cents: float
    seed: int

    @property
    def title(self) -> str:
        """As shown to the player."""
        return self.arrangement.title

    @property
    def meter(self) -> Meter:
        """Time signature."""
        return self.arrangement.meter

    @property
    def key(self) -> Key:
        """Key, in sounding pitch."""
        return self.arrangement.key

    @property
    def tempo_bpm(self) -> float:
        """Quarter notes a minute."""
        return self.arrangement.tempo_bpm

    @property
    def pickup(self) -> Fraction:
        """Length of the upbeat in quarters."""
        return self.arrangement.pickup

    @property
    def melody(self) -> Line:
        """The tune."""
        return self.arrangement.melody

    @property
    def bass(self) -> Line:
        """The bass line."""
        return self.arrangement.bass

    def parts(self) -> tuple[Part, ...]:
        """Tune, bass and inner notes in straight time, for `coach.tones.ensemble`."""
        quarter_s = 60.0 / self.tempo_bpm
        return (
            Part("tune", self.tune_sound, _timed(self.melody.notes, quarter_s), 0.0, 0.2),
            Part("bass", self.bass_sound, _timed(self.bass.notes, quarter_s), _BASS_DB, -0.15),
            Part("inner", self.inner_sound, _timed(self.inner, quarter_s), _INNER_DB, -0.4),
        )


def load_bundled(data: bytes, file: str) -> BundledPiece:
    """Read a piece from its TOML text.

    Parameters
    ----------
    data
        The file's bytes, UTF-8.
    file
        Its name, for messages.

    Raises
    ------
    DrillDataError
        If the text is no TOML, or a field is missing or wrong; the message names file and field.
    """
    try:
        table = tomllib.loads(data.decode())
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise DrillDataError(f"{file} is not a readable piece: {error}.") from error
    return _Reader(file, table).piece()


@dataclass(frozen=True, slots=True)
class _Reader:
    file: str
    table: Mapping[str, object]

    def piece(self) -> BundledPiece:
        sections = self._rows("sections", 2)
        with _Named(self.file, "meter, key, tempo_bpm, pickup or sections"):
            arrangement = Arrangement(
                title=self._text("title"),
                meter=Meter.parse(self._text("meter")),
                key=Key.parse(self._text("key")),
                tempo_bpm=self._number("tempo_bpm"),
                melody=self._line("melody", LineKind.MELODY),
                bass=self._line("bass", LineKind.BASS),
                pickup=Fraction(self._text("pickup")),
                sections=tuple(Section(name, Fraction(onset)) for name, onset in sections),
            )
        return BundledPiece(
            id=self._text("id"),
            arrangement=arrangement,
            inner=self._notes("inner"),
            tune_sound=self._timbre("tune_sound"),
            bass_sound=self._timbre("bass_sound"),
            inner_sound=self._timbre("inner_sound"),
            detune_cents=self._number("detune_cents"),
            seed=round(self._number("seed")),
        )

    def _wrong(self, field: str, wanted: str) -> DrillDataError:
        return DrillDataError(f"In {self.file} the field “{field}” must be {wanted}.")

    def _text(self, field: str) -> str:
        value = self.table.get(field)
        if not isinstance(value, str) or not value.strip():
            raise self._wrong(field, "a text")
        return value

    def _number(self, field: str) -> float:
        value = self.table.get(field)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self._wrong(field, "a number")
        return float(value)

    def _timbre(self, field: str) -> Timbre:
        value = self._text(field)
        if value not in set(Timbre):
            raise self._wrong(field, f"one of {', '.join(Timbre)}")
        return Timbre(value)

    def _rows(self, field: str, width: int) -> list[list[str]]:
        rows = self.table.get(field)
        if not isinstance(rows, list):
            raise self._wrong(field, "a list")
        for row in cast("list[object]", rows):
            if not (
                isinstance(row, list) and len(row) == width and all(isinstance(word, str) for word in row)
            ):
                raise self._wrong(field, f"a list of rows of {width} texts; this one is not: {row}")
        return cast("list[list[str]]", rows)

    def _notes(self, field: str) -> tuple[Note, ...]:
        with _Named(self.file, field):
            return tuple(
                Note(Fraction(onset), Fraction(duration), Pitch.parse(name))
                for onset, duration, name in self._rows(field, 3)
            )

    def _line(self, field: str, kind: LineKind) -> Line:
        notes = self._notes(field)
        with _Named(self.file, field):
            return Line(kind, notes)


@dataclass(frozen=True, slots=True)
class _Named:
    """Turns what a wrong value raises into a message with file and field."""

    file: str
    field: str

    def __enter__(self) -> None:
        return None

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        if isinstance(error, DrillDataError):
            return
        if isinstance(error, CoachError | ValueError | ZeroDivisionError):
            raise DrillDataError(f"In {self.file} the field “{self.field}” is wrong: {error}") from error


def _timed(notes: tuple[Note, ...], quarter_s: float) -> tuple[PromptNote, ...]:
    return tuple(
        PromptNote(
            note.midi,
            float(note.onset) * quarter_s,
            (float(note.onset) + _LET_GO * float(note.duration)) * quarter_s,
        )
        for note in notes
    )
