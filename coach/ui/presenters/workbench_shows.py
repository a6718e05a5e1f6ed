"""Parts of what the workbench shows: the strip with its marks and times, likely bass notes."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from coach.music import Key
from coach.notation import Line, LineKind
from coach.pieces.likely_basses import likely_basses
from coach.practice.piece_state import PieceState, SectionState
from coach.practice.settings import Settings
from coach.sessions.piece.material import grid_of, span_of
from coach.sessions.ports import Samples
from coach.tones.lines import TIMBRE_OF_LINE, line_sound
from coach.tones.prompt import PromptNote
from coach.ui.presenters.drawn import Answer, KeysView, StripView
from coach.ui.presenters.loop_control import LoopControl
from coach.ui.presenters.note_work import NoteWork
from coach.ui.presenters.piece_view import NECK_FRETS, bar_onsets, strip_of
from coach.ui.presenters.workbench_view import SENTENCES, WITHOUT_SINGING, LikelyNote, SoundView, Step

BASS_SENTENCE = "Listen for the lowest note here and hum it; an octave above it counts, too."
LIKELY_WORDS = "These are common in this key. Nothing of the recording is told: your ear decides."
APART_WORDS = "The recording is on the left, your notes are on the right."
OCTAVE_WORDS = "Sung where it is comfortable? “All 12 frets up” puts it where the guitar has it."


def strip_shown(piece: PieceState, state: SectionState, work: NoteWork, settings: Settings) -> StripView:
    """The line on its beat ruler: answers, open questions of a settled line, times to look at for a bass."""
    desk = work.desk
    chosen = (desk.kind, work.chosen)
    strip = strip_of(piece, state, (desk.line,), settings.naming, work.asking.marks, chosen)
    if desk.settled:
        notes = (replace(n, answer=Answer.OPEN) if n.answer is Answer.UNASKED else n for n in strip.notes)
        return replace(strip, notes=tuple(notes))
    return replace(
        strip, slots=tuple((desk.kind, at) for at in slots_of(piece, state, desk.line, work.changes))
    )


def keys_shown(work: NoteWork) -> KeysView:
    """Piano keys over what the guitar has, with the player's own note at the chosen place on them."""
    tuning, capo, (midi, _) = work.names.settings.tuning, work.names.capo, work.shown
    lowest = min(tuning) + capo
    highest = max(tuning) + capo + NECK_FRETS
    return KeysView(
        work.desk.kind,
        work.last,
        lowest - lowest % 12,
        highest + -highest % 12,
        midi,
        work.names.of(midi) if midi is not None else "",
    )


def slots_of(
    piece: PieceState, state: SectionState, line: Line, changes: Sequence[Fraction] = ()
) -> Sequence[Fraction]:
    """Times without a note at which one is to be looked for.

    For a bass the first beat of each full bar, and the beats inside a bar at which the recording changes:
    ``changes`` are times, never pitches.
    """
    if line.kind is not LineKind.BASS or piece.free(state.name):
        return ()
    onsets = bar_onsets(piece, state)[:-1]
    ones = [at for at in onsets if (at - piece.pickup) % piece.meter.bar == 0]
    empty = [at for at in ones if line.at(at) is None]
    # A note that lasts its whole bar covers the changes in it: they are still worth a look.
    return sorted([*empty, *(at for at in changes if all(note.onset != at for note in line))])


def sentence_of(step: Step, kind: LineKind, settings: Settings, open_questions: int, marked: int = 0) -> str:
    """The one thing to do now."""
    if step is Step.GO_ON and marked:
        which = "One note is" if marked == 1 else f"{marked} notes are"
        return f"{which} marked: tap a marked one and try another, or leave it so."
    if step is Step.HEAR and not settings.can_sing:
        return WITHOUT_SINGING
    if step is Step.HEAR and kind is LineKind.BASS:
        return BASS_SENTENCE
    if step is Step.SETTLED and open_questions:
        count = "One open question stays" if open_questions == 1 else f"{open_questions} open questions stay"
        return f"{SENTENCES[step]} {count} marked."
    return SENTENCES[step]


def likely_shown(piece: PieceState, work: NoteWork, *, opened: bool) -> tuple[LikelyNote, ...] | None:
    """Bass notes that the chosen key makes likely, by theory, once they were asked for.

    ``None`` where there are none to be asked for: for a tune, a settled line, or before a key is chosen.
    """
    if piece.key is None or work.desk.kind is not LineKind.BASS or work.desk.settled:
        return None
    if not opened:
        return ()
    names = work.names
    found = likely_basses(Key.parse(piece.key.key), names.settings.tuning, names.capo)
    return tuple(
        LikelyNote(each.pitch.midi, names.of(each.pitch.midi), each.words, each.main) for each in found
    )


def sound_shown(sound: LoopControl) -> SoundView:
    """How the loop sounds."""
    return SoundView(
        sound.speed,
        sound.emphasis,
        sound.playing,
        sound.holding,
        sound.click,
        sound.count_in,
        sound.apart,
    )


def line_heard(
    piece: PieceState, state: SectionState, line: Line, sound: LoopControl, rate_hz: int
) -> Samples:
    """The line as it is written, over the bars of the loop and at its speed."""
    onsets, tempo_bpm = bar_onsets(piece, state), grid_of(piece).tempo_bpm * sound.speed
    start, end = onsets[sound.loop.first], onsets[sound.loop.last + 1]
    return line_sound(line, tempo_bpm, rate_hz, start=start, end=end)


def notes_beside(piece: PieceState, line: Line) -> tuple[PromptNote, ...]:
    """The line as it is written, in seconds of the recording, to be heard beside it."""
    grid, timbre = grid_of(piece), TIMBRE_OF_LINE[line.kind]
    spans = ((note.midi, span_of(grid, note.onset, note.duration)) for note in line)
    return tuple(
        PromptNote(midi, max(0.0, span.start_s), span.end_s, timbre) for midi, span in spans if span.end_s > 0
    )


def written_words(count: int, outside: int, section: str) -> str:
    """What became of a phrase."""
    if not count and not outside:
        return "I heard no note: try once more."
    written = f"I wrote {'one note' if count == 1 else f'{count} notes'} down."
    if not outside:
        return written
    lie = "one lies" if outside == 1 else f"{outside} lie"
    return f"{written} Left out: {lie} outside section {section}."
