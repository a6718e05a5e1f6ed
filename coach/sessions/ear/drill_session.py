"""One drill after another, live: prompting → listening → graded; a grade is in the log before it shows."""

import threading
from collections.abc import Callable
from dataclasses import replace

from coach.drills.answers import Answer, GivenNotes, HeardNotes, HeardOnsets
from coach.drills.grading import grade
from coach.drills.kinds import By
from coach.drills.prompt import Prompt
from coach.hearing.decimate import Decimator
from coach.hearing.notes.events import NoteBegan
from coach.hearing.onsets import Onset, OnsetDetector
from coach.hearing.voice_range import VoiceRange
from coach.music.tuning_system import A4_HZ
from coach.practice.events import DrillAnswered, DrillPassed, VoiceHeard
from coach.sessions.deafness import Deafness
from coach.sessions.ear.answer import THINKING_S, AnswerGatherer, longest_gap_s
from coach.sessions.ear.sound import prompt_sound
from coach.sessions.ear.state import DrillState, Graded, Listening, Passed, Paused, Prompting, Waiting
from coach.sessions.journal import Journal
from coach.sessions.listener import Hearing, Listener
from coach.sessions.ports import AudioOutput, Sound, StreamState

PROMPT_GAIN_DB = -6.0
"""Prompts start quiet; the player turns them up (a caution, not a measure)."""


class DrillSession:
    """Asks prompts and grades answers.

    The session is driven by the listener's steps; its state changes on the listening thread, and `on_change`
    is called there, after the grade is on disk.

    Parameters
    ----------
    listener
        Open and stepping (by its thread or by a test).
    output
        Open, or ``None`` where nothing can sound.
    deafness
        The listener's own.
    journal
        For grades.
    a4_hz
        The tuning of prompts and answers.
    piece
        The piece whose section the drills come from, if any.
    on_change
        Told of every new state.
    """

    def __init__(
        self,
        listener: Listener,
        output: AudioOutput | None,
        deafness: Deafness,
        journal: Journal,
        *,
        a4_hz: float = A4_HZ,
        piece: str | None = None,
        on_change: Callable[[DrillState], None] | None = None,
    ) -> None:
        self._listener = listener
        self._output = output
        self._deafness = deafness
        self._journal = journal
        self._a4_hz = a4_hz
        self._piece = piece
        self._on_change = on_change
        self._state: DrillState = Waiting()
        self._sound: Sound | None = None
        self._gatherer: AnswerGatherer | None = None
        self._strikes: _Strikes | None = None
        self._voice = _voice_of(journal)
        self._seed = self._again = 0
        self._asked_s = self._answering_s = 0.0
        self._taps_s: list[float] = []
        self._guard = threading.RLock()
        self._leave = listener.subscribe(self._hear)

    @property
    def state(self) -> DrillState:
        """Where the drill is."""
        return self._state

    @property
    def voice(self) -> VoiceRange:
        """The range of the voice as far as it was heard."""
        return self._voice

    def ask(self, prompt: Prompt, seed: int = 0) -> None:
        """Sound a prompt and listen for its answer when the sound is over."""
        with self._guard:
            self._seed, self._again = seed, 0
            self._asked_s = self._deafness.clock.steady_s()
            self._sound_out(prompt)

    def again(self) -> None:
        """Hear the prompt again, from the beginning and without shame; nothing once it is graded."""
        with self._guard:
            match self._state:
                case Prompting(prompt) | Listening(prompt):
                    self._again += 1
                    self._sound_out(prompt)
                case Paused(prompt):
                    self._asked_s = self._deafness.clock.steady_s()
                    self._sound_out(prompt)
                case _:
                    pass

    @property
    def answering_s(self) -> float | None:
        """How long the player has had for an answer, ``None`` while it is not their turn."""
        match self._state:
            case Listening() | Paused(silent=True):
                return max(0.0, self._deafness.clock.steady_s() - self._answering_s)
            case Prompting(prompt) if prompt.along:
                return max(0.0, self._deafness.clock.steady_s() - self._answering_s)
            case _:
                return None

    def give(self, answer: Answer) -> None:
        """Take an answer that was chosen or touched."""
        with self._guard:
            match self._state:
                case Prompting(prompt) | Listening(prompt) | Paused(prompt, silent=True):
                    self._finish(prompt, answer)
                case _:
                    pass

    def tap(self) -> None:
        """Take a beat tapped on the screen, also while a prompt sounds that is to be answered along."""
        with self._guard:
            at_s = self.answering_s
            if at_s is None or not isinstance(self._state, Prompting | Listening):
                return
            prompt = self._state.prompt
            self._taps_s.append(at_s)
            if len(self._taps_s) >= len(prompt.onsets_s):
                self._finish(prompt, HeardOnsets(tuple(self._taps_s)))

    def pass_by(self) -> None:
        """Let this one pass (“I can't”): noted, no fault."""
        with self._guard:
            if isinstance(self._state, Prompting | Listening | Paused):
                prompt = self._state.prompt
                self._hush()
                self._journal.write(DrillPassed(prompt.drill, prompt.skill.text, prompt.level))
                self._set(Passed(prompt))

    def pause(self, *, lost_device: bool = False) -> None:
        """Stop sound and listening; `again` goes on."""
        with self._guard:
            if isinstance(self._state, Prompting | Listening):
                prompt = self._state.prompt
                self._hush()
                self._set(Paused(prompt, lost_device))

    def check_device(self) -> None:
        """Pause if the microphone went away, go on when it is back; the screen asks this now and then."""
        with self._guard:
            lost = isinstance(self._state, Paused) and self._state.lost_device
            if self._listener.state is StreamState.LOST:
                self.pause(lost_device=True)
            elif lost and self._listener.state is StreamState.RUNNING:
                self.again()

    def close(self) -> None:
        """Leave the listener."""
        with self._guard:
            self._hush()
            self._leave()

    def _sound_out(self, prompt: Prompt) -> None:
        self._taps_s.clear()
        self._listener.attend("voice" if prompt.by is By.VOICE else "guitar")
        self._play(prompt)
        self._answering_s = self._deafness.clock.steady_s()
        self._set(Prompting(prompt))

    def _play(self, prompt: Prompt) -> None:
        self._hush()
        if self._output is None or not (prompt.notes or prompt.clicks):
            return
        rate_hz = self._output.rate_hz
        samples = prompt_sound(prompt, rate_hz, self._a4_hz)
        self._sound = self._output.play(samples, rate_hz, gain_db=PROMPT_GAIN_DB)

    def _hush(self) -> None:
        if self._sound is not None:
            self._sound.stop()
            self._sound = None

    def _hear(self, hearing: Hearing) -> None:
        with self._guard:
            match self._state:
                case Prompting(prompt):
                    self._maybe_listen(prompt, hearing)
                case Listening(prompt):
                    self._follow(prompt, hearing)
                case Paused(silent=True):
                    self._wake(hearing)
                case _:
                    pass

    def _maybe_listen(self, prompt: Prompt, hearing: Hearing) -> None:
        if not self._may_listen(prompt):
            return
        afterwards = prompt.along and self._sound is not None and not self._sound.playing
        self._gatherer = AnswerGatherer(prompt, hearing.at_s, self._a4_hz, afterwards=afterwards)
        if not prompt.along:
            self._answering_s = self._deafness.clock.steady_s()
        self._strikes = _Strikes(self._listener.rate_hz, hearing.at_s) if self._gatherer.strikes else None
        self._set(Listening(prompt, hearing.at_s))

    def _may_listen(self, prompt: Prompt) -> bool:
        if self._sound is None or self._deafness.quiet():
            return True
        # Only with headphones can an answer be heard along with the prompt.
        along = prompt.along and self._deafness.headphones
        return along and self._sound.position_s >= prompt.listen_from_s

    def _follow(self, prompt: Prompt, hearing: Hearing) -> None:
        gatherer = self._gatherer
        if gatherer is None:
            return
        gatherer.hear(hearing.chunk.events, hearing.chunk.frames)
        if self._strikes is not None:
            gatherer.strike(self._strikes.found(hearing))
        if not (gatherer.complete(hearing.at_s) or self._taps_over(prompt)):
            return
        heard = gatherer.answer(hearing.at_s)
        if self._taps_s:
            self._finish(prompt, HeardOnsets(tuple(self._taps_s)))
        elif (isinstance(heard, HeardOnsets) and not heard.times_s) or (
            isinstance(heard, HeardNotes) and not heard.notes
        ):
            self._set(Paused(prompt, silent=True))
        else:
            self._finish(prompt, heard)

    def _taps_over(self, prompt: Prompt) -> bool:
        """Whether too few beats were tapped and no more are to come."""
        waited_s = self.answering_s
        if not self._taps_s or waited_s is None:
            return False
        since_s = waited_s - self._taps_s[-1]
        return since_s > longest_gap_s(prompt.onsets_s) + THINKING_S

    def _wake(self, hearing: Hearing) -> None:
        """After a silence the player's first sound asks the prompt again."""
        struck = self._strikes.found(hearing) if self._strikes is not None else ()
        if struck or any(isinstance(event, NoteBegan) for event in hearing.chunk.events):
            self.again()

    def _finish(self, prompt: Prompt, answer: Answer) -> None:
        self._hush()
        result = grade(prompt, answer, again=self._again)
        self._journal.write(
            DrillAnswered(
                drill=prompt.drill,
                skill=prompt.skill.text,
                level=prompt.level,
                by=prompt.by.value,
                seed=self._seed,
                right=result.right,
                credit=result.credit,
                cents=result.cents,
                answer_s=result.answer_s,
                word=result.word.value,
                heard=_heard_midis(answer),
                piece=self._piece,
                took_s=round(self._deafness.clock.steady_s() - self._asked_s, 2),
            )
        )
        self._widen(prompt, answer)
        self._set(Graded(prompt, result))

    def _widen(self, prompt: Prompt, answer: Answer) -> None:
        if prompt.by is not By.VOICE or not isinstance(answer, HeardNotes):
            return
        voice = self._voice
        for note in answer.notes:
            voice = voice.widened(note)
        if (voice.lowest, voice.highest) != (self._voice.lowest, self._voice.highest):
            self._journal.write(VoiceHeard(voice.lowest or 0, voice.highest or 0))
        self._voice = voice

    def _set(self, state: DrillState) -> None:
        self._state = state
        if self._on_change is not None:
            self._on_change(state)


class _Strikes:
    """Finds struck moments in the ear's samples, on the ear's time."""

    def __init__(self, rate_hz: int, since_s: float) -> None:
        self._decimator = Decimator(rate_hz)
        self._detector = OnsetDetector()
        self._since_s = since_s

    def found(self, hearing: Hearing) -> tuple[Onset, ...]:
        onsets = self._detector.found(self._decimator.push(hearing.samples))
        return tuple(replace(onset, time_s=onset.time_s + self._since_s) for onset in onsets)


def _voice_of(journal: Journal) -> VoiceRange:
    voice = journal.progress.voice
    return VoiceRange(voice[0], voice[1]) if voice else VoiceRange()


def _heard_midis(answer: Answer) -> tuple[int, ...]:
    match answer:
        case HeardNotes(notes=notes):
            return tuple(note.midi for note in notes)
        case GivenNotes(midis=midis):
            return midis
        case _:
            return ()
