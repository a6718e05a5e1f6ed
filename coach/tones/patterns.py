"""Small patterns of notes and clicks that many prompts share (no arrays)."""

from coach.tones.prompt import PromptClick, PromptNote, Timbre


def count_in(beats: int, tempo_bpm: float, *, start_s: float = 0.0) -> tuple[PromptClick, ...]:
    """The clicks of one counted bar, the first accented; ``tempo_bpm`` counts the beats."""
    if beats < 1 or tempo_bpm <= 0.0:
        raise ValueError("a count-in needs beats and a tempo")
    return tuple(PromptClick(start_s + beat * 60.0 / tempo_bpm, accent=beat == 0) for beat in range(beats))


def drone_notes(midi: int, start_s: float, end_s: float) -> tuple[PromptNote, ...]:
    """A drone on a home note: the note, softer its fifth, and its octave."""
    return (
        PromptNote(midi, start_s, end_s, Timbre.DRONE, -8.0),
        PromptNote(midi + 7, start_s, end_s, Timbre.DRONE, -16.0),
        PromptNote(midi + 12, start_s, end_s, Timbre.DRONE, -12.0),
    )
