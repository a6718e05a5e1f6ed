"""One drill after another: what is asked, what was heard, how near it was."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from random import Random

from typing_extensions import override

from coach.drills.answers import GivenName, GivenPlaces
from coach.drills.kinds import AnswerForm, By, Rule
from coach.drills.prompt import ExpectedPlace, Prompt
from coach.errors import CoachError, DeviceError
from coach.music.naming import screen_name
from coach.music.pitch import Pitch
from coach.notation.line import LineKind
from coach.notation.note import Place
from coach.practice.days import SkillSummary
from coach.practice.ear_set import SetItem
from coach.practice.events import DrillAnswered, Event
from coach.practice.progress import Progress
from coach.practice.settings import Settings
from coach.sessions.ear.drill_session import DrillSession
from coach.sessions.ear.state import DrillState, Graded, Listening, Passed, Paused, Prompting, Waiting
from coach.sessions.listener import Listener
from coach.sessions.ports import UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.sessions.studio import Studio
from coach.ui.context import Go
from coach.ui.presenters.drawn import SHOWN_S, NeckNote, NeckView, OtherPlace, StillThread, Target
from coach.ui.presenters.drill_words import result_words
from coach.ui.presenters.ear_plan import EarPlan, one_drill, plan_for
from coach.ui.presenters.ear_result import result_words as set_words
from coach.ui.presenters.ear_run import SetRun
from coach.ui.presenters.levels import ListenerLevel
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Failed, Missing, Ready


class Phase(Enum):
    """Where a drill is, as far as the screen cares."""

    SOUNDING = "sounding"
    LISTENING = "listening"
    RIGHT = "right"
    MISSED = "missed"
    PASSED = "passed"
    PAUSED = "paused"

    @property
    def over(self) -> bool:
        """Whether the next drill may come."""
        return self in {Phase.RIGHT, Phase.MISSED, Phase.PASSED}


@dataclass(frozen=True, slots=True)
class DrillView:
    """One drill on the screen.

    Parameters
    ----------
    number, count
        Which of the set's drills this is, from 1.
    ask
        What to do.
    said
        What is going on, or how near it was.
    form
        How it is answered: by notes, taps, a word or places.
    neck
        The fretboard, where places are asked for.
    targets
        After the answer: where it lay, on the thread's own time.
    still
        The thread after the answer; before it the live one is shown.
    """

    number: int
    count: int
    title: str
    ask: str
    said: str
    phase: Phase
    form: AnswerForm = AnswerForm.NOTES
    choices: tuple[str, ...] = ()
    neck: NeckView | None = None
    targets: tuple[Target, ...] = ()
    still: StillThread | None = None


_PAUSED = "Paused: go on when you are ready."
_LOST = "The microphone went away: plug it in, and it goes on by itself."
_SILENT = "I heard nothing, so I wait for you. Any note or clap asks once more."
_BACK = "Your turn: clap or pluck when the bass changed."
_SAID = {Phase.SOUNDING: "Listen.", Phase.PASSED: "Let pass: it will come again tomorrow."}
_TURN = {
    AnswerForm.NOTES: {By.VOICE: "Your turn: sing it.", By.GUITAR: "Your turn: play it."},
    AnswerForm.ONSETS: {By.VOICE: "Your turn: clap or tap it.", By.GUITAR: "Your turn: pluck or tap it."},
    AnswerForm.NAME: {By.VOICE: "Which is it?", By.GUITAR: "Which is it?"},
    AnswerForm.PLACES: {By.VOICE: "Touch it on the neck.", By.GUITAR: "Touch or play it on the neck."},
}


class DrillPresenter(Presenter[DrillView]):
    """Leads through the day's set, or asks one drill by name.

    Parameters
    ----------
    room
        Journal, studio, services.
    rng
        Chooses the prompts.
    name
        One drill instead of the day's set.
    """

    def __init__(
        self, room: PracticeRoom, later: UiCalls, go: Go, rng: Random, name: str | None = None
    ) -> None:
        super().__init__(later, Empty("Looking what is due."))
        self._room, self._go, self._rng, self._name = room, go, rng, name
        self._plan: EarPlan | None = None
        self._studio: Studio | None = None
        self._session: DrillSession | None = None
        self._run: SetRun | None = None
        self._item: SetItem | None = None
        self._before: Mapping[str, SkillSummary] = {}
        self._heard: tuple[int, ...] = ()
        self._since_s = 0.0
        self._touched: list[Place] = []
        self._leave: Callable[[], None] = _nothing

    # --- opening and leaving ------------------------------------------------------------------------------

    @override
    def opened(self) -> None:
        try:
            plan = plan_for(self._room.services, self._room.journal.progress)
            self._before = self._room.journal.progress.skills
            self._plan = plan if self._name is None else replace(plan, set=one_drill(plan, self._name))
            if not self._plan.set.items:
                self._show(Empty("Nothing is due for the ear today.", "Back to Today"))
                return
            self._studio = self._room.studio()
        except DeviceError as error:
            self._show(Missing("I cannot hear you.", error.message, "Look again"))
            return
        except CoachError as error:
            self._show(Failed("The drills could not be opened.", error.message))
            return
        studio, journal = self._studio, self._room.journal
        self._leave = journal.subscribe(self._written)
        piece = journal.progress.in_hand
        self._session = DrillSession(
            studio.listener, studio.output, studio.deafness, journal,
            a4_hz=self._plan.settings.a4_hz, piece=piece, on_change=self._changed,
        )  # fmt: skip
        self._run = SetRun(self._plan, self._room.services.clock)
        self._ask()

    @override
    def closed(self) -> None:
        self._leave()
        if self._session is not None:
            self._session.close()
            self._session = None

    # --- what the player does -----------------------------------------------------------------------------

    @override
    def act(self) -> None:
        """Hear it again, or go on; from a notice: look again, or back."""
        match self._view:
            case Ready(value):
                if value.phase.over:
                    self.go_on()
                else:
                    self.again()
            case Empty():
                self._go("today")
            case _:
                self.closed()
                self.opened()

    def again(self) -> None:
        """Hear the prompt again."""
        self._forget()
        if self._session is not None:
            self._session.again()

    def go_on(self) -> None:
        """The next drill; nothing before this one is over."""
        view = self._view
        if isinstance(view, Ready) and view.value.phase.over:
            self._ask(first=False)

    def pass_by(self) -> None:
        """Let this one pass."""
        if self._session is not None:
            self._session.pass_by()

    def pause(self) -> None:
        """Stop for now; `act` goes on. After an answer only the clock of the set stands."""
        if self._session is not None:
            self._session.pause()
        if self._run is not None:
            self._run.paused()

    def check_device(self) -> None:
        """Notice a microphone that went away; the screen asks this now and then."""
        if self._session is not None:
            self._session.check_device()

    def give_name(self, name: str) -> None:
        """Answer with a word."""
        if self._session is not None:
            self._session.give(GivenName(name, self._answer_s))

    def touch(self, string: int, fret: int) -> None:
        """Answer with a place; several are gathered, and touched again one is taken back."""
        prompt = self._prompt
        if self._session is None or prompt is None or prompt.kind.form is not AnswerForm.PLACES:
            return
        place = Place(string, fret)
        if place in self._touched:
            self._touched.remove(place)
        elif place not in prompt.shown:
            self._touched.append(place)
        if len(self._touched) >= len(prompt.expected):
            self._session.give(GivenPlaces(tuple(self._touched), self._answer_s))
        elif isinstance(self._view, Ready):
            self._show(Ready(replace(self._view.value, neck=self._neck(prompt, show=False))))

    def tap(self) -> None:
        """Answer with a beat; they are gathered."""
        if self._session is not None:
            self._session.tap()

    @property
    def levels(self) -> ListenerLevel | None:
        """Who listens, for the level bar."""
        return ListenerLevel(self._studio.listener) if self._studio is not None else None

    @property
    def ear(self) -> Listener | None:
        """Whose frames the pitch thread shows."""
        return self._studio.listener if self._studio is not None else None

    # --- what happens -------------------------------------------------------------------------------------

    @property
    def prompt(self) -> Prompt | None:
        """What is asked now; holds the answer, so no screen draws it."""
        return self._prompt

    @property
    def _prompt(self) -> Prompt | None:
        state = self._session.state if self._session is not None else Waiting()
        return None if isinstance(state, Waiting) else state.prompt

    @property
    def _headphones(self) -> bool:
        return self._studio is not None and self._studio.deafness.headphones

    @property
    def _answer_s(self) -> float | None:
        return None if self._session is None else self._session.answering_s

    def _ask(self, *, first: bool = True) -> None:
        plan, session, run = self._plan, self._session, self._run
        if plan is None or session is None or run is None:
            return
        progress = self._room.journal.progress
        item = run.first(progress.schedule) if first else run.next(progress.schedule)
        if item is None:
            now = self._room.services.clock.now()
            words = set_words(plan, self._before, progress, run, now)
            self._show(Empty(words, "Back to Today"))
            return
        self._forget()
        self._item = item
        seed = self._rng.randrange(2**31)
        session.ask(plan.prompt(item, Random(seed)), seed)

    def _forget(self) -> None:
        self._heard = ()
        self._touched.clear()

    def _written(self, event: Event, _progress: Progress) -> None:
        if isinstance(event, DrillAnswered):
            self._heard = event.heard

    def _changed(self, state: DrillState) -> None:
        """Told on the listening thread."""
        run = self._run
        if run is None:
            return
        match state:
            case Waiting():
                return
            case Prompting(prompt):
                run.gone_on()
                said = "Tap along while it plays." if prompt.along else _SAID[Phase.SOUNDING]
                self._show_drill(prompt, Phase.SOUNDING, said)
            case Listening(prompt, since_s):
                self._since_s = since_s
                said = _BACK if prompt.along and not self._headphones else _TURN[prompt.kind.form][prompt.by]
                self._show_drill(prompt, Phase.LISTENING, said)
            case Graded(prompt, grade):
                run.over(right=grade.right)
                said = result_words(prompt, grade, self._heard)
                self._show_drill(prompt, Phase.RIGHT if grade.right else Phase.MISSED, said)
            case Passed(prompt):
                self._show_drill(prompt, Phase.PASSED, _SAID[Phase.PASSED])
            case Paused(prompt, lost_device, silent):
                run.paused()
                said = _LOST if lost_device else (_SILENT if silent else _PAUSED)
                self._show_drill(prompt, Phase.PAUSED, said)

    def _show_drill(self, prompt: Prompt, phase: Phase, said: str) -> None:
        plan, run = self._plan, self._run
        if plan is None or run is None or self._item is None:
            return
        graded = phase in {Phase.RIGHT, Phase.MISSED}
        still = self._stilled() if graded else None
        targets = self._targets(prompt, still) if still is not None and prompt.midis else ()
        view = DrillView(
            number=run.number,
            count=run.count,
            title=plan.title(self._item),
            ask=prompt.ask,
            said=said,
            phase=phase,
            form=prompt.kind.form,
            choices=prompt.choices,
            neck=self._neck(prompt, show=graded) if prompt.kind.form is AnswerForm.PLACES else None,
            targets=targets,
            still=still,
        )
        self._show(Ready(view))

    def _stilled(self) -> StillThread | None:
        ear = self.ear
        return None if ear is None else StillThread(ear.heard_s, ear.frames_since(ear.heard_s - SHOWN_S))

    def _targets(self, prompt: Prompt, still: StillThread) -> tuple[Target, ...]:
        """The right notes, spread over the time of the answer, in the octave in which it was given."""
        voiced = [frame.time_s for frame in still.frames_since(self._since_s) if frame.voiced]
        begin_s = voiced[0] if voiced else self._since_s
        each_s = max(0.3, still.heard_s - begin_s) / len(prompt.midis)
        return tuple(
            Target(
                begin_s + index * each_s,
                begin_s + (index + 1) * each_s,
                _near(midi, self._heard, index, prompt.rule),
            )
            for index, midi in enumerate(prompt.midis)
        )

    def _neck(self, prompt: Prompt, *, show: bool) -> NeckView:
        settings = self._room.services.current_settings()
        names = tuple(
            screen_name(Pitch.from_midi(midi), settings.naming) for midi in reversed(settings.tuning)
        )
        given = tuple(_neck_note(place, settings) for place in prompt.shown)
        places = (one for one in prompt.expected if isinstance(one, ExpectedPlace))
        seen = [(one.string, one.fret) for one in (places if show else self._touched)]
        return NeckView(names, given, tuple(OtherPlace(LineKind.MELODY, *place) for place in seen))


def _near(midi: int, heard: Sequence[int], index: int, rule: Rule) -> float:
    """A right note, moved by octaves next to what was given for it where octaves do not count."""
    if rule is Rule.EXACT or index >= len(heard):
        return float(midi)
    return float(midi + 12 * round((heard[index] - midi) / 12))


def _neck_note(place: Place, settings: Settings) -> NeckNote:
    midi = settings.tuning[6 - place.string] + place.fret
    name = screen_name(Pitch.from_midi(midi), settings.naming)
    return NeckNote(LineKind.MELODY, place.string, place.fret, name)


def _nothing() -> None:
    """Nothing to leave yet."""
