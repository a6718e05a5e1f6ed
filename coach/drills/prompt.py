"""A prompt: what sounds, what is shown, what is asked for and how it will be graded. Plain values."""

from dataclasses import dataclass, field

from coach.drills.data import SkillKey
from coach.drills.kinds import By, Kind, Rule
from coach.notation.note import Place
from coach.tones.prompt import PromptClick, PromptNote, Timbre


@dataclass(frozen=True, slots=True)
class ExpectedNote:
    """A note to be sung or played (MIDI)."""

    midi: int


@dataclass(frozen=True, slots=True)
class ExpectedOnset:
    """A moment to be struck, seconds from the start of listening."""

    onset_s: float


@dataclass(frozen=True, slots=True)
class ExpectedName:
    """A word to be given."""

    name: str


@dataclass(frozen=True, slots=True)
class ExpectedPlace:
    """A place to be touched: string 1 (thinnest) to 6 and fret."""

    string: int
    fret: int


Expected = ExpectedNote | ExpectedOnset | ExpectedName | ExpectedPlace


@dataclass(frozen=True, slots=True)
class Measure:
    """The tolerances and times by which an answer is graded.

    Parameters
    ----------
    cents
        How far a sung note may be off. A fretted note counts as its nearest semitone.
    onset_s
        How far a struck moment may be off.
    sure_s, instant_s
        An answer that begins within these times after listening starts is *sure*, *instant*.
    """

    cents: float = 50.0
    onset_s: float = 0.11
    sure_s: float = 5.0
    instant_s: float = 1.5


@dataclass(frozen=True, slots=True)
class Prompt:
    """One question.

    Parameters
    ----------
    drill, kind, skill, level, by
        Where it comes from; ``skill`` is the card it counts for.
    ask
        What is asked, one short sentence for the player.
    notes, clicks, timbre
        What sounds; notes without their own instrument sound on ``timbre``.
    sound_s
        Length of the sound.
    listen_from_s
        When listening starts, seconds from the start of the sound: after it and any silence, or at 0 where
        the player answers along with the sound.
    window_s
        How long listening lasts at most.
    expected
        The right answer; several are asked for in this order (places in any order).
    rule
        Which octaves count.
    measure
        Tolerances.
    choices
        Where a word is asked for: the words to choose from.
    shown
        Places shown on the fretboard with the question.
    sounding
        For named and placed answers: the pitches (MIDI) of the right answer, by which a sung or played
        answer is judged instead.
    """

    drill: str
    kind: Kind
    skill: SkillKey
    level: int
    by: By
    ask: str
    notes: tuple[PromptNote, ...]
    timbre: Timbre
    sound_s: float
    listen_from_s: float
    window_s: float
    expected: tuple[Expected, ...]
    rule: Rule
    measure: Measure
    clicks: tuple[PromptClick, ...] = ()
    choices: tuple[str, ...] = ()
    shown: tuple[Place, ...] = ()
    sounding: tuple[int, ...] = field(default=())

    @property
    def along(self) -> bool:
        """Whether the answer is given while the prompt sounds."""
        return self.listen_from_s < self.sound_s

    @property
    def midis(self) -> tuple[int, ...]:
        """The expected notes, where notes are asked for."""
        return tuple(one.midi for one in self.expected if isinstance(one, ExpectedNote))

    @property
    def onsets_s(self) -> tuple[float, ...]:
        """The expected moments, where moments are asked for."""
        return tuple(one.onset_s for one in self.expected if isinstance(one, ExpectedOnset))
