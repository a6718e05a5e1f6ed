"""Every event of the log as one line that a player reads."""

from typing import assert_never

from coach.music.naming import Naming, screen_name
from coach.music.pitch import Pitch
from coach.practice.events import (
    AimSet,
    BackupMade,
    Calibrated,
    DrillAnswered,
    DrillPassed,
    Event,
    GridSet,
    HintTaken,
    IdeaNoted,
    KeyChosen,
    LineReopened,
    LineSettled,
    LineWritten,
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
    SectionsSet,
    SmallerAccepted,
    StringTuned,
    TakeKept,
    TimeSpent,
    TogetherSettled,
    VoiceHeard,
)

_VERDICTS = {
    "heard": "heard",
    "other_octave": "right note, 12 frets off",
    "not_heard": "not heard there",
    "cannot_tell": "this recording does not tell",
}
_STEPS = {"direction": "which way", "near": "whether it is near", "reveal": "the note"}
_LINES = {"melody": "tune", "bass": "bass"}
_DOING = {"tune": "tuning", "ear": "ear training", "piece": "work on the piece", "rest": "rest"}


def event_words(event: Event, naming: Naming = Naming.ENGLISH) -> str:
    """What an event says, on one line."""
    return " ".join(_words(event, naming).split())


def _words(event: Event, naming: Naming) -> str:
    match event:
        case PieceChosen() | PieceSetAside() | PieceTakenUp() | PieceFinished() | TakeKept() | IdeaNoted():
            return _of_piece(event)
        case GridSet() | SectionsSet() | KeyChosen():
            return _of_choosing(event)
        case LineWritten() | NoteChecked() | HintTaken() | LineSettled() | LineReopened():
            return _of_line(event, naming)
        case TogetherSettled() | PlayedThrough() | PlayedSettled():
            return _of_playing(event)
        case DrillAnswered() | DrillPassed() | StringTuned() | VoiceHeard() | TimeSpent() | Calibrated():
            return _of_day(event, naming)
        case AimSet() | SmallerAccepted() | PackOpened() | ReplyOpened() | ReportShared() | BackupMade():
            return _of_exchange(event)
        case _:
            assert_never(event)


def _of_piece(
    event: PieceChosen | PieceSetAside | PieceTakenUp | PieceFinished | TakeKept | IdeaNoted,
) -> str:
    match event:
        case PieceChosen(title=title):
            return f"Took “{title}” in hand"
        case PieceSetAside(reason=reason):
            return f"Laid the piece aside: {reason}"
        case PieceTakenUp():
            return "Took the piece in hand again"
        case PieceFinished():
            return "Finished the piece"
        case TakeKept(duration_s=duration_s):
            return f"Kept a take of {duration_s:.0f} s"
        case IdeaNoted(text=text):
            return f"For next time: {text}"


def _of_choosing(event: GridSet | SectionsSet | KeyChosen) -> str:
    match event:
        case GridSet(meter=meter):
            return f"Set the beat, in {meter}"
        case SectionsSet(sections=sections):
            return f"Cut the piece into {len(sections)} sections"
        case KeyChosen(key=key, capo=capo):
            return f"Chose the key of {key}" + (f", capo on fret {capo}" if capo else "")


def _of_line(
    event: LineWritten | NoteChecked | HintTaken | LineSettled | LineReopened, naming: Naming
) -> str:
    where = f"{_LINES.get(event.line, event.line)} of section {event.section}"
    match event:
        case LineWritten(notes=notes):
            return f"Wrote the {where}: {_count(len(notes), 'note')}"
        case NoteChecked(midi=midi, verdict=verdict):
            return f"Asked for {_note(midi, naming)} in the {where}: {_VERDICTS.get(verdict, verdict)}"
        case HintTaken(step=step):
            return f"Took a hint in the {where}: {_STEPS.get(step, step)}"
        case LineSettled():
            return f"The {where} is good enough for now"
        case LineReopened():
            return f"Opened the {where} again"


def _of_playing(event: TogetherSettled | PlayedThrough | PlayedSettled) -> str:
    match event:
        case TogetherSettled(section=section):
            return f"Both lines of section {section} lie on the neck"
        case PlayedThrough(section=section, part=part, tempo_bpm=tempo_bpm, right_share=share):
            what = f"section {section}" if section is not None else "the whole piece"
            right = "" if share is None else f", {share:.0%} right"
            return f"Played {what} ({part}) at {tempo_bpm:.0f} beats a minute{right}"
        case PlayedSettled(section=section):
            return f"Section {section} is played well enough for now"


def _of_day(
    event: DrillAnswered | DrillPassed | StringTuned | VoiceHeard | TimeSpent | Calibrated, naming: Naming
) -> str:
    match event:
        case DrillAnswered(drill=drill, level=level, word=word):
            return f"Drill “{_plain(drill)}”, level {level}: {word}"
        case DrillPassed(drill=drill):
            return f"Let the drill “{_plain(drill)}” pass"
        case StringTuned(string=string, cents=cents):
            return f"Tuned string {string}: {cents:+.0f} cents".replace("-", "−")
        case VoiceHeard(lowest=lowest, highest=highest):
            return f"Voice heard from {_note(lowest, naming)} to {_note(highest, naming)}"
        case TimeSpent(activity=activity, seconds=seconds):
            return f"{_minutes(seconds)} of {_DOING.get(activity, activity)}"
        case Calibrated(round_trip_ms=round_trip_ms):
            return f"Measured the way from loudspeaker to microphone: {round_trip_ms:.0f} ms"


def _of_exchange(
    event: AimSet | SmallerAccepted | PackOpened | ReplyOpened | ReportShared | BackupMade,
) -> str:
    match event:
        case AimSet(day=day):
            return "Took the aim away" if day is None else f"Set the aim: {day:%d} {day:%B} {day.year}"
        case SmallerAccepted(proposal=proposal):
            return f"Made the piece smaller: {proposal}"
        case PackOpened(title=title):
            return f"Opened the pack “{title}”"
        case ReplyOpened(word=word):
            return f"A word from the teacher: {word}"
        case ReportShared():
            return "Shared a report with the teacher"
        case BackupMade():
            return "Made a back-up"


def _note(midi: int, naming: Naming) -> str:
    return screen_name(Pitch.from_midi(midi), naming)


def _plain(drill: str) -> str:
    return drill.replace("-", " ")


def _count(number: int, word: str) -> str:
    return f"1 {word}" if number == 1 else f"{number} {word}s"


def _minutes(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 90 else f"{seconds / 60:.0f} min"
