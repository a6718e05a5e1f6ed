"""The first run: I hear you, here are three notes of a tune, find them."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from typing_extensions import override

from coach.errors import CancelledError, CoachError, DeviceError, ScopeError
from coach.hearing.notes.events import NoteBegan, NoteCorrected, NoteEnded, NoteWithdrawn
from coach.music.naming import screen_name
from coach.music.pitch import Pitch
from coach.pieces.verdicts import Outcome, Verdict
from coach.sessions.listener import Hearing
from coach.sessions.ports import UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.device_watch import NO_SOUND
from coach.ui.presenters.drawn import NeckView
from coach.ui.presenters.first_notes import COUNT, FirstNotes
from coach.ui.presenters.levels import ListenerLevel
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Failed, PageView, Ready, Working

HELD_S = 0.3
"""A note that sounds so long is meant (our own choice; the pitch is decided well before)."""
WELCOME = "Turn a recording you like into your first arrangement for one guitar, a few minutes a day."
HEAR_ME = "Pluck any string, or sing a note. I tell you what I hear."
OWN = "Use a recording of mine"
NO_EAR = "I cannot hear you now: {} You can tap the notes on the neck instead."
NOT_HEARD = "We can go on without my hearing you."


class Moment(Enum):
    """Where the first run is."""

    WELCOME = "welcome"
    HEAR_ME = "hear me"
    FIND = "find"
    DONE = "done"


@dataclass(frozen=True, slots=True)
class FirstRunView:
    """One moment of the first run.

    Parameters
    ----------
    names
        The three notes as found, ``None`` where not yet.
    looking
        Which of them is looked for, from 0; ``None`` before and after.
    said
        What was heard, or the answer.
    neck
        The fretboard, where notes are tapped.
    """

    moment: Moment
    sentence: str
    action: str
    second: str = ""
    said: str = ""
    names: tuple[str | None, ...] = ()
    looking: int | None = None
    neck: NeckView | None = None


class FirstRunPresenter(Presenter[FirstRunView]):
    """Leads from the first sentence to three notes that are kept."""

    def __init__(self, room: PracticeRoom, later: UiCalls, jobs: JobRunner, go: Go) -> None:
        super().__init__(later, _welcome())
        self._room, self._jobs, self._go = room, jobs, go
        self._notes = FirstNotes(room)
        self._leave: Callable[[], None] = _nothing
        self._levels: ListenerLevel | None = None
        self._deaf = ""
        self._begun: tuple[float, int] | None = None
        self._asked: int | None = None
        self._said = ""
        self._neck_shown = False

    # --- coming and going ---------------------------------------------------------------------------------

    @override
    def opened(self) -> None:
        """On the first day the welcome; later straight on, with this tune or with the piece in hand."""
        try:
            on = self._notes.way_on
        except CoachError as error:
            self._show(Failed("The tune could not be made ready.", error.message))
            return
        if on is not None:
            self._go(on[0], **dict(on[1]))
        elif self._notes.begun:
            self._hear_me()

    @override
    def closed(self) -> None:
        self.cancel()
        self._leave()
        if self._notes.places:
            self._notes.hush()

    @property
    def levels(self) -> ListenerLevel | None:
        """Who listens, for the level bar."""
        return self._levels

    # --- what the player does -----------------------------------------------------------------------------

    @override
    def act(self) -> None:
        match self._view:
            case Ready(FirstRunView(moment=Moment.WELCOME)):
                self._hear_me()
            case Ready(FirstRunView(moment=Moment.HEAR_ME)):
                self._prepare()
            case Ready(FirstRunView(moment=Moment.FIND, looking=looking)):
                self._sound(looking)
            case Failed():
                self._prepare()
            case _:
                self._go("today")

    def second(self) -> None:
        """A hint; or all three notes once more; at the end, a recording of the player's own."""
        looking = self._looking
        if looking is None:
            self._own_recording()
            return
        if self._asked is None:
            self._sound(None)
            return
        try:
            hint = self._notes.hint(looking, self._asked)
        except CoachError as error:
            self._say(error.message)
            return
        if hint.midi is not None:
            self._say(f"It is {self._name(hint.midi)}: play it.")
        elif hint.within_a_tone is not None:
            near = "It lies within two frets." if hint.within_a_tone else "It is further than two frets away."
            self._say(f"{near} {_way(hint.direction)}")
        else:
            self._say(_way(hint.direction) or "This recording does not tell. Trust your ear.")

    def _own_recording(self) -> None:
        """Lay this tune aside, with what was found of it, and choose a recording."""
        try:
            self._notes.lay_aside()
        except CoachError as error:
            self._say(error.message)
            return
        self._go("choose")

    def show_neck(self) -> None:
        """Tap the notes on a drawn neck."""
        self._neck_shown = True
        self._find()

    def tap(self, string: int, fret: int) -> None:
        """Ask for a note by its place."""
        tuning = self._room.services.current_settings().tuning
        self._try(tuning[6 - string] + fret)

    # --- hearing ------------------------------------------------------------------------------------------

    def _hear_me(self) -> None:
        try:
            studio = self._room.studio()
        except DeviceError as error:
            self._deaf, self._neck_shown = NO_EAR.format(error.message), True
        except CoachError as error:
            self._show(Failed("The microphone could not be opened.", error.message, "Go on"))
            return
        else:
            studio.listener.attend("any")
            self._leave = studio.listener.subscribe(self._hear)
            self._levels = ListenerLevel(studio.listener)
        said = self._deaf or "Listening."
        sentence = NOT_HEARD if self._deaf else HEAR_ME
        self._show(Ready(FirstRunView(Moment.HEAR_ME, sentence, "Go on", said=said)))

    def _hear(self, hearing: Hearing) -> None:
        """Told on the listening thread: a note that is held long enough is handed on."""
        for event in hearing.chunk.events:
            match event:
                case NoteBegan(start_s=start_s, midi=midi) | NoteCorrected(start_s=start_s, midi=midi):
                    self._begun = (start_s, midi)
                case NoteEnded() | NoteWithdrawn():
                    self._begun = None
        if self._begun is not None and hearing.at_s - self._begun[0] >= HELD_S:
            midi = self._begun[1]
            self._begun = None
            self._later.later(lambda: self._heard(midi))

    def _heard(self, midi: int) -> None:
        match self._view:
            case Ready(FirstRunView(moment=Moment.HEAR_ME)):
                said = f"I hear you: that is {_with_article(self._name(midi))}."
                self._show(Ready(FirstRunView(Moment.HEAR_ME, HEAR_ME, "Go on", said=said)))
            case Ready(FirstRunView(moment=Moment.FIND)):
                self._try(midi)
            case _:
                pass

    # --- finding ------------------------------------------------------------------------------------------

    def _prepare(self) -> None:
        self._show(Working("Getting the tune ready", None))
        self._job = self._jobs.start(
            self._notes.prepare, done=lambda _: self._prepared(), failed=self._refused, progress=self._working
        )

    def _working(self, share: float, what: str) -> None:
        if isinstance(self._view, Working):
            self._show(Working(what, share))

    def _prepared(self) -> None:
        self._said = self._deaf
        self._find()
        self._sound(None)

    def _refused(self, error: CoachError) -> None:
        if isinstance(error, CancelledError | ScopeError):
            self._go("today")
        else:
            self._show(Failed("The tune could not be made ready.", error.message))

    @property
    def _looking(self) -> int | None:
        found = self._notes.found if self._notes.places else ()
        return next((index for index, midi in enumerate(found) if midi is None), None)

    def _try(self, midi: int) -> None:
        looking = self._looking
        if looking is None:
            return
        try:
            verdict = self._notes.ask(looking, midi)
            if verdict.outcome is Outcome.CANNOT_TELL and self._asked == midi:
                self._notes.keep(looking, midi)  # asked twice: the player is sure
        except CoachError as error:
            self._say(error.message)
            return
        right = self._looking != looking
        self._asked = None if right else midi
        self._said = self._answer(midi, verdict, right=right)
        self._find()
        if right and self._looking is not None:
            self._sound(self._looking)

    def _answer(self, midi: int, verdict: Verdict, *, right: bool) -> str:
        name = self._name(midi)
        match verdict.outcome:
            case Outcome.HEARD:
                return f"{name}: that is it."
            case Outcome.OTHER_OCTAVE:
                return f"{name}: right note, 12 frets off. That is good enough for now."
            case Outcome.NOT_HEARD:
                return f"{name}: not heard there. Hum the note first, then look for it."
            case Outcome.CANNOT_TELL:
                kept = "kept, as you are sure" if right else "play it again if you are sure"
                return f"{name}: this recording does not tell; {kept}."

    def _say(self, said: str) -> None:
        self._said = said
        self._find()

    def _find(self) -> None:
        looking, names = self._looking, self._names()
        if looking is None:
            found = ", ".join(str(name) for name in names)
            words = (
                f"You have found the first {COUNT} notes of “{self._notes.title}”: {found}. They are kept."
            )
            self._show(
                Ready(FirstRunView(Moment.DONE, words, "See today", OWN, said=self._said, names=names))
            )
            return
        which = ("first", "second", "third")[looking]
        self._show(
            Ready(
                FirstRunView(
                    Moment.FIND,
                    f"Hear the {which} note, hum it, then {self._how}.",
                    "Hear it again",
                    "A hint" if self._asked is not None else "All three",
                    self._said,
                    names,
                    looking,
                    self._neck() if self._neck_shown else None,
                )
            )
        )

    @property
    def _how(self) -> str:
        return "tap it on the neck" if self._deaf else "play it on your guitar"

    def _sound(self, index: int | None) -> None:
        """Let a note sound, or all three; say so where nothing can sound."""
        if not self._notes.sound(index):
            self._say(NO_SOUND)

    def _names(self) -> tuple[str | None, ...]:
        return tuple(None if midi is None else self._name(midi) for midi in self._notes.found)

    def _name(self, midi: int) -> str:
        return screen_name(Pitch.from_midi(midi), self._room.services.current_settings().naming)

    def _neck(self) -> NeckView:
        tuning = self._room.services.current_settings().tuning
        return NeckView(tuple(self._name(midi) for midi in reversed(tuning)))


def _welcome() -> PageView[FirstRunView]:
    return Ready(FirstRunView(Moment.WELCOME, WELCOME, "Let's find three notes"))


def _way(direction: object) -> str:
    return "" if direction is None else f"It is {direction} in sound."


def _with_article(name: str) -> str:
    return f"an {name}" if name[0] in "AEFH" else f"a {name}"


def _nothing() -> None:
    """Nothing to leave yet."""
