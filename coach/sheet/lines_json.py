"""Lines JSON: the plain text form of an arrangement, format 1.

Every key is written always; a note has besides ``string`` and ``fret`` where the player has chosen a place,
``name`` where its spelling is not the key's own, ``syllable`` where it has one.
"""

import json
from fractions import Fraction

from coach.errors import InputError, LineError, NoteNameError, UnreadableFileError
from coach.music.key import Key
from coach.music.meter import Meter
from coach.music.pitch import Pitch
from coach.notation.arrangement import DEFAULT_TEMPO_BPM, MAX_CAPO, Arrangement
from coach.notation.line import Line, LineKind
from coach.notation.note import ALLOWED_DENOMINATORS, HIGHEST_FRET, Note, Place
from coach.notation.section import Section
from coach.sheet.fields import Fields
from coach.sheet.limits import check_size
from coach.sheet.text import clean_words

FORMAT = 1
MAX_NOTES = 20_000
"""More notes in one line than any piece within the length limit needs."""


def write_lines(arrangement: Arrangement) -> bytes:
    """An arrangement as lines JSON, UTF-8, one compact line with a line feed."""
    value = {
        "format": FORMAT,
        "title": clean_words(arrangement.title),
        "meter": str(arrangement.meter),
        "key": arrangement.key.name,
        "tempo_bpm": _plain(arrangement.tempo_bpm),
        "pickup": str(arrangement.pickup),
        "capo": arrangement.capo,
        "melody": [_note_value(note, arrangement.key) for note in arrangement.melody],
        "bass": [_note_value(note, arrangement.key) for note in arrangement.bass],
        "sections": [
            {"name": clean_words(section.name), "onset": str(section.onset)}
            for section in arrangement.sections
        ],
    }
    return (json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False) + "\n").encode()


def read_lines(data: bytes, name: str = "lines.json") -> Arrangement:
    """Read lines JSON.

    Parameters
    ----------
    data
        The file's bytes, UTF-8, at most 10 MB.
    name
        Its name, for errors.

    Raises
    ------
    InputError
        Naming the note or the field that is wrong. Unknown keys are ignored; a missing title, meter, key,
        tempo, upbeat, capo or list of sections takes its plain default.
    """
    check_size(data, name)
    fields = _parsed(data, name)
    if fields.whole("format", 0, 10**6, FORMAT) != FORMAT:
        raise UnreadableFileError(
            f"“{name}” is lines JSON of another format than {FORMAT}: write it again with this version."
        )
    if not fields.has("melody") and not fields.has("bass"):
        raise UnreadableFileError(
            f"“{name}” has neither a “melody” nor a “bass” list: write the lines with “coach write”."
        )
    try:
        key = Key.parse(fields.text("key", "C"))
        meter = Meter.parse(fields.text("meter", "4/4"))
    except NoteNameError as error:
        raise InputError(error.message, code=error.code) from error
    return Arrangement(
        title=clean_words(fields.text("title", "")) or "Untitled",
        meter=meter,
        key=key,
        tempo_bpm=fields.number("tempo_bpm", DEFAULT_TEMPO_BPM),
        melody=_line(fields, LineKind.MELODY, key),
        bass=_line(fields, LineKind.BASS, key),
        pickup=fields.time("pickup", Fraction(0)),
        capo=fields.whole("capo", 0, MAX_CAPO, 0),
        sections=_sections(fields),
    )


def _plain(number: float) -> float:
    return int(number) if float(number).is_integer() else number


def _note_value(note: Note, key: Key) -> dict[str, object]:
    value: dict[str, object] = {
        "onset": str(note.onset),
        "duration": str(note.duration),
        "midi": note.midi,
    }
    if note.pitch != key.spell(note.midi):
        value["name"] = note.pitch.name
    if note.place is not None:
        value["string"] = note.place.string
        value["fret"] = note.place.fret
    if note.syllable is not None and clean_words(note.syllable):
        value["syllable"] = clean_words(note.syllable)
    return value


def _parsed(data: bytes, name: str) -> Fields:
    try:
        value = json.loads(data.decode("utf-8-sig"), parse_constant=_refuse_constant)
    except UnicodeDecodeError as error:
        raise UnreadableFileError(f"“{name}” is not UTF-8 text: save it as UTF-8.") from error
    except json.JSONDecodeError as error:
        raise UnreadableFileError(
            f"“{name}” is not JSON (line {error.lineno}, column {error.colno}): correct it there."
        ) from error
    except (ValueError, RecursionError) as error:
        raise UnreadableFileError(
            f"“{name}” holds numbers or nesting that no music needs: write it again with “coach write”."
        ) from error
    if not isinstance(value, dict):
        raise UnreadableFileError(
            f"“{name}” is JSON but not an arrangement: it must be one object in braces."
        )
    return Fields.of(value, "arrangement")


def _refuse_constant(word: str) -> float:
    raise ValueError(word)


def _line(fields: Fields, kind: LineKind, key: Key) -> Line:
    items = fields.items(kind.value)
    if len(items) > MAX_NOTES:
        raise LineError(f"The {kind} has more than {MAX_NOTES} notes: take a shorter part of the piece.")
    return Line.of(
        kind, [_note(Fields.of(item, f"{kind} note {count}"), key) for count, item in enumerate(items, 1)]
    )


def _note(fields: Fields, key: Key) -> Note:
    onset = fields.time("onset")
    duration = fields.time("duration")
    midi = fields.whole("midi", 0, 127)
    words = clean_words(fields.text("syllable", ""))
    try:
        return Note(onset, duration, _pitch(fields, midi, key), _place(fields), words or None)
    except LineError as error:
        raise LineError(f"{fields.where[0].upper()}{fields.where[1:]}: {error.message}") from error


def _pitch(fields: Fields, midi: int, key: Key) -> Pitch:
    if fields.has("name"):
        try:
            pitch = Pitch.parse(fields.text("name", ""))
        except NoteNameError:
            return key.spell(midi)
        if pitch.midi == midi:
            return pitch
    return key.spell(midi)


def _place(fields: Fields) -> Place | None:
    if not fields.has("string") or not fields.has("fret"):
        return None
    return Place(fields.whole("string", 1, 6), fields.whole("fret", 0, HIGHEST_FRET))


def _sections(fields: Fields) -> tuple[Section, ...]:
    found = []
    for count, item in enumerate(fields.items("sections"), 1):
        section = Fields.of(item, f"section {count}")
        name = clean_words(section.text("name", ""))
        onset = section.time("onset")
        if not name or onset < 0 or onset.denominator not in ALLOWED_DENOMINATORS:
            raise LineError(
                f"Section {count} needs a name and an onset of at least 0, in halves, thirds, quarters, "
                "sixths, eighths, twelfths or sixteenths of a quarter note."
            )
        found.append(Section(name, onset))
    return tuple(sorted(found, key=lambda section: section.onset))
