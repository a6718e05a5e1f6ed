"""One prompt to be made: drill, level, skill, player, and the chance that chooses."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from random import Random

from coach.drills.context import DrillContext, pick_start
from coach.drills.data import Direction, Drill, Level, SkillKey
from coach.drills.kinds import AnswerForm, By, Rule
from coach.drills.prompt import Expected, ExpectedNote, Measure, Prompt
from coach.notation.note import Place
from coach.tones.prompt import PromptClick, PromptNote, Timbre

_THINKING_S = 4.0
"""How much longer the ear stays open than a sure answer takes (our own choice)."""
_A_NOTE_S = 1.6
"""What each further note of an answer may take."""
_TAIL_S = 0.1
"""Silence at the end of a prompt's sound."""


@dataclass(frozen=True, slots=True)
class Task:
    """What a maker works on.

    Parameters
    ----------
    drill, number, skill, by, context
        As given to `coach.drills.making.make_prompt`.
    rng
        The one source of chance.
    timbre
        The instrument chosen for this prompt.
    """

    drill: Drill
    number: int
    skill: SkillKey
    by: By
    rng: Random
    context: DrillContext
    timbre: Timbre = field(default=Timbre.PLUCK)

    @property
    def level(self) -> Level:
        """The level's data."""
        return self.drill.level(self.number)

    @property
    def verb(self) -> str:
        """What the player does: ``Sing`` or ``Play``."""
        return "Sing" if self.by is By.VOICE else "Play"

    def up(self) -> bool:
        """Whether an interval rises: as the skill says, else by chance."""
        match self.skill.direction:
            case Direction.UP:
                return True
            case Direction.DOWN:
                return False
            case Direction.ANY:
                return self.rng.random() < 0.5

    def start(self, offsets: Sequence[int]) -> int:
        """A first note for which all ``offsets`` (semitones) lie in the player's range; see `pick_start`."""
        whole = self.context.compass(self.by)
        part = self.context.compass(self.by, self.skill.register)
        return pick_start(tuple(offsets), whole, part, self.level.reach, self.rng)

    def run(self, midis: Sequence[int], at_s: float = 0.0, gap_s: float = 0.0) -> tuple[PromptNote, ...]:
        """Notes one after another, each as long as the level says."""
        step = self.level.note_s + gap_s
        return tuple(
            PromptNote(midi, at_s + index * step, at_s + index * step + self.level.note_s, self.timbre)
            for index, midi in enumerate(midis)
        )

    def singable(self, midi: int) -> int:
        """The same note in an octave that the voice reaches; unchanged for the guitar."""
        if self.by is not By.VOICE:
            return midi
        low, high = self.context.compass(By.VOICE)
        while midi < low:
            midi += 12
        while midi > high and midi - 12 >= low:
            midi -= 12
        return midi

    def prompt(
        self,
        ask: str,
        notes: Sequence[PromptNote],
        expected: Sequence[Expected],
        *,
        rule: Rule | None = None,
        clicks: Sequence[PromptClick] = (),
        choices: Sequence[str] = (),
        shown: Sequence[Place] = (),
        sounding: Sequence[int] = (),
        sound_s: float | None = None,
        along: bool = False,
    ) -> Prompt:
        """Put a prompt together; the sound ends with its last note unless ``sound_s`` says later."""
        level = self.level
        end_s = max(sound_s or 0.0, *(note.end_s for note in notes)) + _TAIL_S
        onsets = self.drill.kind.form is AnswerForm.ONSETS
        answer_s = end_s if onsets else level.sure_s + _A_NOTE_S * (len(expected) - 1)
        return Prompt(
            drill=self.drill.name,
            kind=self.drill.kind,
            skill=self.skill,
            level=self.number,
            by=self.by,
            ask=ask,
            notes=tuple(notes),
            timbre=self.timbre,
            sound_s=end_s,
            listen_from_s=0.0 if along else end_s + level.silence_s,
            window_s=answer_s + (1.0 if along else _THINKING_S),
            expected=tuple(expected),
            rule=rule or self.drill.kind.rule(self.by),
            measure=Measure(level.cents, level.tolerance_s, level.sure_s, level.instant_s),
            clicks=tuple(clicks),
            choices=tuple(choices),
            shown=tuple(shown),
            sounding=tuple(sounding),
        )


def expected_notes(midis: Sequence[int]) -> tuple[ExpectedNote, ...]:
    """Notes to be sung or played, in this order."""
    return tuple(ExpectedNote(midi) for midi in midis)
