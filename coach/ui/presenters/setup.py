"""Set-up: short cards, each skippable, each kept as soon as it is answered."""

import re
from dataclasses import dataclass, replace
from pathlib import Path

from typing_extensions import override

from coach.errors import CoachError, DeviceError, NoteNameError
from coach.fretboard.tuning import Tuning
from coach.hearing.roundtrip import RoundTrip
from coach.practice.settings import Settings
from coach.sessions.ports import Jobs, UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.handed_in import HandedIn, open_handed, path_of
from coach.ui.presenters.levels import ListenerLevel
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.setup_cards import CARDS, LESSONS, LOOK, NAMES, SOUND, Card
from coach.ui.presenters.setup_sound import (
    NO_LOUDSPEAKER,
    TONE_GAIN_DB,
    TONE_PLAYED,
    device_choice,
    known_way_words,
    soft_tone,
    way_words,
    with_device,
)
from coach.ui.presenters.view import Empty, Failed, Ready, Working

LONGEST_NAME = 80
FIND_LESSON = ("find", "Look for my teacher's file")
FIND_COPY = ("find copy", "Look for my copy of the recording")
_DEVICES = {"input": "Microphone", "output": "Loudspeaker or headphones"}


@dataclass(frozen=True, slots=True)
class Asked:
    """One question of a card as it stands; with ``many`` any number of options may be chosen."""

    key: str
    asked: str
    options: tuple[tuple[str, str], ...]
    chosen: str
    many: bool = False


@dataclass(frozen=True, slots=True)
class Typed:
    """One line to be typed: what is asked, the words of the button that keeps it, what stands there."""

    key: str
    asked: str
    keep: str
    text: str


@dataclass(frozen=True, slots=True)
class SetupView:
    """One card.

    Parameters
    ----------
    note
        What went wrong or what was found, empty else; ``good`` says which of them.
    tools
        Further buttons: a word and what the player reads.
    caution
        What the player has to mind, empty where there is nothing.
    found
        What is known about the sound by now, empty where there is nothing to say.
    """

    number: int
    count: int
    title: str
    why: str
    questions: tuple[Asked, ...] = ()
    tools: tuple[tuple[str, str], ...] = ()
    note: str = ""
    last: bool = False
    lines: tuple[Typed, ...] = ()
    caution: str = ""
    good: bool = False
    found: str = ""


class SetupPresenter(Presenter[SetupView]):
    """Leads from card to card.

    Parameters
    ----------
    card
        The word of the card to begin with; the first by default.
    file
        A teacher's file to be opened at once, on the card for lessons; with a ``pack``, the player's own
        copy of its recording.
    """

    def __init__(
        self,
        room: PracticeRoom,
        later: UiCalls,
        jobs: JobRunner,
        go: Go,
        card: str | None = None,
        file: str | None = None,
        pack: str | None = None,
    ) -> None:
        super().__init__(later, Empty("Set-up is opening."))
        self._room, self._jobs, self._go = room, jobs, go
        self._at = next((i for i, each in enumerate(CARDS) if each.word == card), 0)
        self._note, self._file = "", file
        self._levels: ListenerLevel | None = None
        self._pack = None if pack is None else Path(pack)

    @override
    def opened(self) -> None:
        self._turn()
        file, self._file = self._file, None
        if file is not None:
            self.drop(file)

    @override
    def closed(self) -> None:
        self.cancel()

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
        if key in _DEVICES:
            if self._keep(with_device(self._settings, key, option)):
                self._room.leave_studio()
                self._turn()
            return
        question = next(each for each in self._card.questions if each.key == key)
        if not self._keep(question.write(self._settings, option)):
            return
        if self._card in {LOOK, NAMES} or key in {"left", "teacher"}:
            self._go("restart", card=self._card.word)
            return
        if key in {"headphones", "a4", "way"}:
            self._room.leave_studio()
        if key == "volume":
            self._turn_up()
        self._turn()

    def write(self, key: str, text: str) -> None:
        """Keep a typed line, or open the file that it names."""
        match key:
            case "strings":
                self._keep_strings(text)
            case "name":
                name = text.strip()[:LONGEST_NAME]
                if self._keep(replace(self._settings, name=name)):
                    said = f"Your reports say “{name}”." if name else "Your reports have no name."
                    self._say(said, good=True)
            case "file":
                self._pack = None
                self._open(path_of(text))
            case "recording" if self._pack is not None:
                self._open(self._pack, path_of(text))

    def drop(self, file: str) -> None:
        """A file was dropped: on the card for lessons it is a pack, a reply, or the recording asked for."""
        if isinstance(self._view, Ready) and self._at < len(CARDS) and self._card is LESSONS:
            self.write("file" if self._pack is None else "recording", file)

    def use(self, tool: str) -> None:
        """Use a card's tool: open another screen, sound, measure the way."""
        if tool in {"tuner", "teacher"}:
            self._go(tool)
        elif tool == "remind":
            self._go("remind", back="setup")
        elif tool == "find":
            self._go("files", want="lesson")
        elif tool == "find copy" and self._pack is not None:
            self._go("files", want="copy", pack=str(self._pack))
        elif tool == "tone":
            sounds = self._sound()
            self._say(TONE_PLAYED if sounds else NO_LOUDSPEAKER, good=sounds)
        elif tool == "measure":
            self._show(
                Working("Listening for my own soft chirps: be quiet for a moment", None, can_cancel=False)
            )
            self._job = self._jobs.start(self._measure, done=self._measured, failed=self._refused)

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
        questions = (
            *self._devices(card, settings),
            *(
                Asked(each.key, each.asked, each.options, each.read(settings), each.many)
                for each in card.questions
            ),
        )
        tools = card.tools
        if card is LESSONS:
            tools = (*tools, FIND_LESSON if self._pack is None else FIND_COPY)
        if card is LESSONS and settings.teacher:
            tools = (*tools, ("teacher", "Open the teacher's place"))
        self._show(
            Ready(
                SetupView(
                    self._at + 1, len(CARDS), card.title, card.why, questions, tools, self._note,
                    last=self._at == len(CARDS) - 1, lines=self._lines(card, settings), caution=card.caution,
                    found=self._known_way() if card is SOUND and not self._note else "",
                )
            )
        )  # fmt: skip

    def _devices(self, card: Card, settings: Settings) -> tuple[Asked, ...]:
        if not card.devices:
            return ()
        try:
            there = self._room.services.devices().devices()
        except CoachError as error:
            self._note = self._note or error.message
            return ()
        chosen = {"input": settings.input_device, "output": settings.output_device}
        asked = []
        for key in card.devices:
            choice = device_choice(there, chosen[key], wants_input=key == "input")
            asked.append(Asked(key, _DEVICES[key], choice.options, choice.chosen))
        return tuple(asked)

    def _lines(self, card: Card, settings: Settings) -> tuple[Typed, ...]:
        lines = [Typed(each.key, each.asked, each.keep, each.read(settings)) for each in card.lines]
        if card is LESSONS and self._pack is not None:
            asked = f"Your own copy of the recording of “{self._pack.name}”"
            lines.insert(0, Typed("recording", asked, "Open the pack with it", ""))
        return tuple(lines)

    def _known_way(self) -> str:
        settings = self._settings
        if not settings.measures_way:
            return ""
        try:
            return known_way_words(*self._room.studio().way, headphones=settings.headphones)
        except CoachError:
            return ""  # the note says what is missing

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
        self._say(way_words(delay_s), good=delay_s is not None and not RoundTrip(delay_s, 1.0).wireless)

    def _refused(self, error: CoachError) -> None:
        self._say(error.message)

    def _sound(self) -> bool:
        output = self._room.loudspeaker()
        if output is None:
            return False
        output.silence()
        output.play(soft_tone(output.rate_hz), output.rate_hz, gain_db=TONE_GAIN_DB)
        return True

    def _turn_up(self) -> None:
        output = self._room.loudspeaker()
        if output is not None:
            output.set_volume(self._settings.volume_db)

    def _keep_strings(self, text: str) -> None:
        try:
            tuning = Tuning.parse(",".join(re.split(r"[\s,]+", text.strip())))
        except NoteNameError as error:
            self._say(error.message)
            return
        if self._keep(replace(self._settings, tuning=tuning.strings)):
            self._say(f"Your strings from the thickest up: {tuning.name.replace(',', ' ')}.", good=True)

    def _open(self, file: Path, recording: Path | None = None) -> None:
        room = self._room
        self._show(Working("Opening your teacher's file", None, can_cancel=False))
        self._job = self._jobs.start(
            lambda _jobs: open_handed(room.services, room.journal, file, recording),
            done=lambda handed: self._handed(handed, file),
            failed=self._refused,
        )

    def _handed(self, handed: HandedIn, file: Path) -> None:
        self._pack = file if handed.needs_recording else None
        self._say(handed.said, good=not handed.needs_recording)

    def _say(self, note: str, *, good: bool = False) -> None:
        self._turn()
        if isinstance(self._view, Ready):
            self._show(Ready(replace(self._view.value, note=note, good=good)))
