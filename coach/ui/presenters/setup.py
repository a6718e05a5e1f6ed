"""Set-up: short cards, each skippable, each kept as soon as it is answered."""

from dataclasses import dataclass, replace

from typing_extensions import override

from coach.errors import CoachError, DeviceError
from coach.practice.settings import Settings
from coach.sessions.ports import Jobs, UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.ui.context import Go
from coach.ui.presenters.jobs import Job, JobRunner
from coach.ui.presenters.levels import ListenerLevel
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.setup_cards import CARDS, LOOK, NAMES, ROOM, Card
from coach.ui.presenters.view import Empty, Failed, Ready, Working

WAY_NOT_HEARD = (
    "I did not hear my own clicks three times alike: with headphones that is as it should be. "
    "With a loudspeaker turn it up a little and measure again."
)


@dataclass(frozen=True, slots=True)
class Asked:
    """One question of a card as it stands."""

    key: str
    asked: str
    options: tuple[tuple[str, str], ...]
    chosen: str


@dataclass(frozen=True, slots=True)
class SetupView:
    """One card.

    Parameters
    ----------
    note
        What went wrong or what was found, empty else.
    tools
        Further buttons: a word and what the player reads.
    """

    number: int
    count: int
    title: str
    why: str
    questions: tuple[Asked, ...] = ()
    tools: tuple[tuple[str, str], ...] = ()
    note: str = ""
    last: bool = False


class SetupPresenter(Presenter[SetupView]):
    """Leads from card to card.

    Parameters
    ----------
    card
        The word of the card to begin with; the first that was not answered yet by default.
    """

    def __init__(
        self, room: PracticeRoom, later: UiCalls, jobs: JobRunner, go: Go, card: str | None = None
    ) -> None:
        super().__init__(later, Empty("Set-up is opening."))
        self._room, self._jobs, self._go = room, jobs, go
        self._at = next((i for i, each in enumerate(CARDS) if each.word == card), 0)
        self._note = ""
        self._job: Job | None = None
        self._levels: ListenerLevel | None = None

    @override
    def opened(self) -> None:
        self._turn()

    @override
    def closed(self) -> None:
        self.cancel()

    @override
    def cancel(self) -> None:
        if self._job is not None:
            self._job.cancel()
            self._job = None

    @override
    def act(self) -> None:
        """The next card, or back to Today after the last."""
        match self._view:
            case Ready():
                self._mark_done()
                self.skip()
            case Empty():
                self._go("today")
            case _:
                self._turn()

    def skip(self) -> None:
        """The next card, this one left as it is."""
        self._at += 1
        self._turn()

    def back(self) -> None:
        """The card before."""
        self._at = max(0, self._at - 1)
        self._turn()

    def choose(self, key: str, option: str) -> None:
        """Keep an answer."""
        question = next(each for each in self._card.questions if each.key == key)
        if not self._keep(question.write(self._settings, option)):
            return
        if self._card in {LOOK, NAMES} or key == "left":
            self._go("setup", card=self._card.word)
            self._go("restart")
            return
        if key in {"headphones", "a4"}:
            self._room.leave_studio()
        self._turn()

    def use(self, tool: str) -> None:
        """Use a card's tool: open the tuner, measure the way."""
        if tool == "tuner":
            self._go("tuner")
        elif tool == "measure":
            self._show(Working("Listening for my own clicks: be quiet for a moment", None, can_cancel=False))
            self._job = self._jobs.start(self._measure, done=self._measured, failed=self._not_measured)

    @property
    def levels(self) -> ListenerLevel | None:
        """Who listens, on a card that shows the level bar."""
        return self._levels

    @property
    def _card(self) -> Card:
        return CARDS[self._at]

    @property
    def _settings(self) -> Settings:
        return self._room.services.current_settings()

    def _turn(self) -> None:
        if self._at >= len(CARDS):
            self._show(
                Empty("That is all I need to know. You can change it here at any time.", "Back to Today")
            )
            return
        card, settings = self._card, self._settings
        self._note = ""
        self._listen()
        questions = tuple(
            Asked(each.key, each.asked, each.options, each.read(settings)) for each in card.questions
        )
        self._show(
            Ready(
                SetupView(
                    self._at + 1, len(CARDS), card.title, card.why, questions, card.tools, self._note,
                    last=self._at == len(CARDS) - 1,
                )
            )
        )  # fmt: skip

    def _listen(self) -> None:
        self._levels = None
        if not self._card.listens:
            return
        try:
            self._levels = ListenerLevel(self._room.studio().listener)
        except DeviceError as error:
            self._note = f"{error.message} You can still tap notes on the neck."
        except CoachError as error:
            self._note = error.message

    def _keep(self, settings: Settings) -> bool:
        try:
            self._room.services.settings().save(settings)
        except CoachError as error:
            self._show(Failed("Your choice could not be kept.", error.message))
            return False
        return True

    def _mark_done(self) -> None:
        settings, word = self._settings, self._card.word
        if word not in settings.set_up_done:
            self._keep(replace(settings, set_up_done=(*settings.set_up_done, word)))

    def _measure(self, _jobs: Jobs) -> float | None:
        return self._room.studio().calibrate()

    def _measured(self, delay_s: float | None) -> None:
        found = "" if delay_s is None else f"From loudspeaker to microphone it takes {delay_s * 1000:.0f} ms."
        self._say(found or WAY_NOT_HEARD)

    def _not_measured(self, error: CoachError) -> None:
        self._say(error.message)

    def _say(self, note: str) -> None:
        self._at = next(i for i, each in enumerate(CARDS) if each is ROOM)
        self._turn()
        if isinstance(self._view, Ready):
            self._show(Ready(replace(self._view.value, note=note)))
