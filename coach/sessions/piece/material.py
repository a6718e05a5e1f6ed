"""What the log knows of a piece, as written music: grid, lines, arrangement."""

from collections.abc import Iterable
from fractions import Fraction

from coach.errors import ScopeError
from coach.music import BeatGrid, Key, Span
from coach.notation import Arrangement, Line, LineKind, Note, Place, Section
from coach.notation.arrangement import DEFAULT_TEMPO_BPM
from coach.practice.events import NoteRecord
from coach.practice.piece_state import PieceState, SectionState

DEFAULT_KEY = Key("C", 0)


def grid_of(piece: PieceState) -> BeatGrid:
    """The beat grid; quarter 0 is the start of the upbeat if there is one.

    Raises
    ------
    ScopeError
        If the beat has not been found yet.
    """
    if piece.grid is None:
        raise ScopeError("The beat of this piece is not set yet: tap it first.")
    return BeatGrid(piece.grid.quarters, piece.grid.seconds)


def key_of(piece: PieceState) -> Key:
    """The key chosen for the guitar, C major before there is one."""
    return Key.parse(piece.key.key) if piece.key is not None else DEFAULT_KEY


def section_of(piece: PieceState, name: str) -> SectionState:
    """A section by name; ``ScopeError`` if the piece has none of that name."""
    section = piece.section(name)
    if section is None:
        raise ScopeError(f"The piece has no section {name}: choose one of its sections.")
    return section


def note_of(record: NoteRecord, key: Key) -> Note:
    """A note as the log has it, spelled in a key."""
    place = None
    if record.string is not None and record.fret is not None:
        place = Place(record.string, record.fret)
    pitch = key.spell(record.midi)
    return Note(record.onset, record.duration, pitch, place, record.syllable, record.long)


def record_of(note: Note, place: Place | None = None, finger: int | None = None) -> NoteRecord:
    """A note as the log keeps it, at a place chosen for it or at its own, with the finger settled for it."""
    at = place or note.place
    string, fret = (at.string, at.fret) if at else (None, None)
    return NoteRecord(note.onset, note.duration, note.midi, string, fret, note.syllable, finger, note.long)


def line_of(piece: PieceState, section: str, kind: LineKind) -> Line:
    """One line of one section, on the piece's own axis of quarters."""
    key = key_of(piece)
    return Line.of(kind, (note_of(record, key) for record in section_of(piece, section).line(kind).notes))


def arrangement_of(piece: PieceState, names: Iterable[str] | None = None) -> Arrangement:
    """The lines of some sections (all by default) as one arrangement, on the piece's own axis."""
    chosen = [s for s in piece.sections if names is None or s.name in set(names)]
    key = key_of(piece)

    def joined(kind: LineKind) -> Line:
        return Line.of(kind, (note_of(record, key) for s in chosen for record in s.line(kind).notes))

    return Arrangement(
        title=piece.title,
        meter=piece.meter,
        key=key,
        tempo_bpm=round(grid_of(piece).tempo_bpm, 1) if piece.grid else DEFAULT_TEMPO_BPM,
        melody=joined(LineKind.MELODY),
        bass=joined(LineKind.BASS),
        pickup=piece.pickup,
        capo=piece.key.capo if piece.key else 0,
        sections=tuple(Section(s.name, s.onset) for s in piece.sections),
    )


def whole_section(piece: PieceState, name: str) -> Arrangement:
    """Both lines of one section, on the piece's own axis of quarters."""
    return arrangement_of(piece, [section_of(piece, name).name])


def span_of(grid: BeatGrid, onset: Fraction, duration: Fraction) -> Span:
    """Where a written note lies in the recording."""
    return Span(grid.second_of(onset), grid.second_of(onset + duration))


def recorded_midi(piece: PieceState, kind: LineKind, midi: int) -> int:
    """The pitch in the recording that a note of the player's stands for: without key shift and register."""
    if piece.key is None:
        return midi
    octaves = piece.key.melody_octaves if kind is LineKind.MELODY else piece.key.bass_octaves
    return midi - piece.key.shift_semitones - 12 * octaves
