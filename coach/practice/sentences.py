"""Every event as one plain sentence, for the log on screen, on the command line and in reports."""

from collections.abc import Mapping
from typing import assert_never

from coach.music.pitch import Pitch
from coach.practice.events import (
    AimSet,
    BackupMade,
    Calibrated,
    ChoosingEvent,
    DrillAnswered,
    DrillEvent,
    DrillPassed,
    Event,
    ExchangeEvent,
    GridSet,
    HandWished,
    HintTaken,
    IdeaNoted,
    KeyChosen,
    LineReopened,
    LineSettled,
    LineWritten,
    MeasuredEvent,
    NoteChecked,
    PackOpened,
    PieceChosen,
    PieceFinished,
    PieceSetAside,
    PieceTakenUp,
    PlayedSettled,
    PlayedThrough,
    ReplyOpened,
    ReportShared,
    RhythmMade,
    SectionsSet,
    SmallerAccepted,
    StringTuned,
    TakeKept,
    TimeSpent,
    TogetherSettled,
    VoiceHeard,
)
from coach.practice.piece_state import FREE, PieceState

_VERDICTS = {
    "heard": "heard",
    "other_octave": "right note, 12 frets off",
    "not_heard": "not heard there",
    "cannot_tell": "this recording does not tell",
}
_HINTS = {"direction": "higher or lower", "near": "how near", "reveal": "the note"}
_ACTIVITIES = {"tune": "tuning", "ear": "ear training", "piece": "the piece", "rest": "resting"}

Choosing = PieceChosen | ChoosingEvent | AimSet | SmallerAccepted
Lines = LineWritten | NoteChecked | HintTaken | LineSettled | LineReopened | IdeaNoted
Playing = HandWished | TogetherSettled | PlayedThrough | PlayedSettled | TakeKept | PieceFinished
Daily = DrillEvent | MeasuredEvent | TimeSpent
Exchange = ExchangeEvent | ReplyOpened


def sentence(event: Event, titles: Mapping[str, str]) -> str:
    """An event in one sentence.

    Parameters
    ----------
    titles
        Titles of the pieces by identifier; a piece that is missing is named by its identifier.
    """
    if isinstance(event, Choosing):
        return _choosing(event, titles.get(event.piece, event.piece))
    if isinstance(event, Lines):
        return _lines(event)
    if isinstance(event, Playing):
        return _playing(event, titles.get(event.piece, event.piece))
    if isinstance(event, Daily):
        return _daily(event)
    if isinstance(event, Exchange):
        return _exchange(event)
    assert_never(event)


def titles_of(pieces: Mapping[str, PieceState]) -> dict[str, str]:
    """Titles by identifier, for `sentence`, from the pieces of `Progress`."""
    return {identifier: piece.title for identifier, piece in pieces.items()}


def _choosing(event: Choosing, title: str) -> str:  # noqa: C901, PLR0911 - one a case
    match event:
        case PieceChosen():
            return f"“{title}” was taken in hand."
        case PieceSetAside(reason=reason):
            return f"“{title}” was set aside: {reason}"
        case PieceTakenUp():
            return f"“{title}” was taken up again."
        case GridSet(feel=feel) if feel == FREE:
            return "It has no steady beat: its notes are kept by order, long and short."
        case GridSet(meter=meter):
            return f"The beat was set: {meter}."
        case SectionsSet(sections=sections):
            return f"Cut into sections {', '.join(section.name for section in sections)}."
        case RhythmMade(section=section):
            return f"The notes of section {section} were put into beats."
        case KeyChosen(key=key, capo=capo):
            return f"Key {key} was chosen" + (f", capo on fret {capo}." if capo else ", no capo.")
        case AimSet(day=day):
            return "The aim was taken away." if day is None else f"Aim: done by {day.isoformat()}."
        case SmallerAccepted(proposal=proposal):
            return f"Made smaller: {proposal}."
    assert_never(event)


def _lines(event: Lines) -> str:
    match event:
        case LineWritten(notes=notes):
            count = f"{len(notes)} note{'' if len(notes) == 1 else 's'}"
            return f"{_line_name(event)}: {count} written ({event.by})."
        case NoteChecked(midi=midi, verdict=verdict):
            return f"{_line_name(event)}: {_note(midi)} checked, {_VERDICTS.get(verdict, verdict)}."
        case HintTaken(step=step):
            return f"{_line_name(event)}: hint taken, {_HINTS.get(step, step)}."
        case LineSettled():
            return f"{_line_name(event)} is good enough for now."
        case LineReopened():
            return f"{_line_name(event)} was reopened."
        case IdeaNoted(text=text):
            return f"For next time: {text}"
    assert_never(event)


def _line_name(event: LineWritten | NoteChecked | HintTaken | LineSettled | LineReopened) -> str:
    return f"{event.line.capitalize()} of section {event.section}"


def _note(midi: int) -> str:
    return Pitch.from_midi(midi).name


def _playing(event: Playing, title: str) -> str:
    match event:
        case HandWished():
            return _wished(event)
        case TogetherSettled(section=section, changes=changes):
            changed = f", changed: {'; '.join(changes)}" if changes else ""
            return f"Section {section}: both lines lie under the hand{changed}."
        case PlayedThrough():
            return _played_through(event)
        case PlayedSettled(section=section):
            return f"Section {section} is played well enough for now."
        case TakeKept(duration_s=duration_s):
            return f"A whole take of “{title}” was kept, {duration_s:.0f} s long."
        case PieceFinished():
            return f"“{title}” is finished."
    assert_never(event)


def _wished(event: HandWished) -> str:
    count = len(event.notes)
    said = [] if not count else [f"{count} note{'' if count == 1 else 's'} where or how you chose"]
    said += [f"below fret {event.below_fret}"] if event.below_fret is not None else []
    said += ["no barre"] if event.no_barre else []
    return f"Section {event.section} on the neck: {', '.join(said) or 'nothing is to be kept'} ({event.by})."


def _played_through(event: PlayedThrough) -> str:
    what = "The whole piece" if event.section is None else f"Section {event.section}"
    said = f"{what} was played, {event.part}, at {event.tempo_bpm:.0f} bpm"
    if event.right_share is not None:
        said += f": {event.right_share:.0%} right"
    if event.hardest_bar is not None:
        said += f", hardest bar {event.hardest_bar}"
    return said + "."


def _daily(event: Daily) -> str:
    match event:
        case DrillAnswered(drill=drill, level=level, word=word):
            return f"Drill {drill}, level {level}: {word}."
        case DrillPassed(drill=drill):
            return f"Drill {drill} was let pass."
        case StringTuned(string=string, cents=cents):
            return f"String {string} tuned, {cents:+.0f} cents."
        case VoiceHeard(lowest=lowest, highest=highest):
            return f"Voice: comfortable from {_note(lowest)} to {_note(highest)}."
        case TimeSpent(activity=activity, seconds=seconds):
            where = f", section {event.section}" if event.section is not None else ""
            return f"{seconds / 60:.1f} minutes of {_ACTIVITIES.get(activity, activity)}{where}."
        case Calibrated(device=device, round_trip_ms=round_trip_ms):
            return f"Round trip of {device}: {round_trip_ms:.0f} ms."
    assert_never(event)


def _exchange(event: Exchange) -> str:
    match event:
        case PackOpened(title=title):
            return f"The pack “{title}” was opened."
        case ReplyOpened(word=word):
            return f"A reply of your teacher was opened: {word}" if word else "A reply was opened."
        case ReportShared(with_takes=with_takes):
            return "A report was written for the teacher" + (", with takes." if with_takes else ".")
        case BackupMade():
            return "A back-up was made."
    assert_never(event)
