"""The tuner: which string, which way to turn, when it is there."""

from collections.abc import Callable
from dataclasses import dataclass
from threading import RLock

from typing_extensions import override

from coach.errors import CoachError, DeviceError
from coach.hearing.decimate import Decimator
from coach.hearing.tuner.live_tuner import LiveTuner
from coach.hearing.tuner.tuner import WITHIN_CENTS, Tuner, TunerReading
from coach.music.naming import screen_name
from coach.music.pitch import Pitch
from coach.practice.events import StringTuned
from coach.practice.settings import Settings
from coach.sessions.listener import Hearing
from coach.sessions.ports import UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.sessions.studio import Studio
from coach.ui.context import Go
from coach.ui.presenters.levels import ListenerLevel
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Failed, Missing, Ready, Working

LITTLE_CENTS = 15.0
FAR_CENTS = 100.0
"""“A little low”, “low”, “far too low”: our own words; a fret is 100 cents."""
OTHER_S = 1.2
"""What sounds for so long and is no string is spoken of: by then a string would be known as one."""
OTHER_WORDS = "I hear a sound, but no plucked string."
CAUTION = "Turn slowly, with your face away from the strings."


@dataclass(frozen=True, slots=True)
class StringView:
    """One string: its number (6 is the lowest), its name, how it was last, whether it is the one meant."""

    number: int
    name: str
    result: str
    done: bool
    meant: bool


@dataclass(frozen=True, slots=True)
class TunerView:
    """What the tuner shows.

    Parameters
    ----------
    sentence
        What to do.
    cents
        How far off, negative is low; ``None`` while nothing rings.
    warn
        A warning before over-tightening, empty without one.
    locked
        The string the player has locked, ``None`` where it is chosen by itself.
    """

    sentence: str
    note: str
    cents: float | None
    steady: bool
    in_tune: bool
    warn: str
    strings: tuple[StringView, ...]
    locked: int | None = None


class TunerPresenter(Presenter[TunerView]):
    """Listens, and goes on by itself when a string is in tune."""

    def __init__(self, room: PracticeRoom, later: UiCalls, go: Go) -> None:
        super().__init__(later, Working("Opening the microphone", None, can_cancel=False))
        self._room, self._go = room, go
        self._settings: Settings = room.services.current_settings()
        self._studio: Studio | None = None
        self._results: dict[int, float] = {}
        self._locked: int | None = None
        self._reading: TunerReading | None = None
        self._leave: Callable[[], None] = _nothing
        self._guard = RLock()
        self._tuner = self._new_tuner()
        self._decimator: Decimator | None = None
        self._other = False

    @override
    def opened(self) -> None:
        try:
            self._studio = self._room.studio()
        except DeviceError as error:
            self._show(Missing("I cannot hear the guitar.", error.message, "Look again"))
            return
        except CoachError as error:
            self._show(Failed("The tuner could not be opened.", error.message))
            return
        listener = self._studio.listener
        listener.attend("guitar")
        self._decimator = Decimator(listener.rate_hz)
        self._leave = listener.subscribe(self._hear)
        self._refresh()

    @override
    def closed(self) -> None:
        self._leave()

    @override
    def act(self) -> None:
        if isinstance(self._view, Ready):
            self._go("today")
        else:
            self.closed()
            self.opened()

    def lock(self, string: int) -> None:
        """Listen for one string only; the same string again lets it be chosen by itself."""
        with self._guard:
            self._locked = None if self._locked == string else string
            self._reading, self._other = None, False
            self._tuner = self._new_tuner()
        self._refresh()

    @property
    def levels(self) -> ListenerLevel | None:
        """Who listens, for the level bar."""
        return ListenerLevel(self._studio.listener) if self._studio is not None else None

    def _new_tuner(self) -> LiveTuner:
        return LiveTuner(Tuner(self._settings.tuning, self._settings.a4_hz, self._locked))

    def _hear(self, hearing: Hearing) -> None:
        """Told on the listening thread."""
        with self._guard:
            if hearing.deaf or self._decimator is None:
                return
            readings = self._tuner.readings(self._decimator.push(hearing.samples))
            for reading in readings:
                self._take(reading)
            other = self._tuner.other_s >= OTHER_S
            turned, self._other = other != self._other, other
            if other:
                self._reading = None
        if readings or turned:
            self._refresh()

    def _take(self, reading: TunerReading) -> None:
        before = self._reading
        if before is not None and _fades(before, reading):
            return  # a hand on the string bends its last moment: it is no reason to turn a peg
        self._reading = reading
        if reading.steady and abs(reading.cents) > LITTLE_CENTS:
            self._results.pop(reading.string, None)
        fresh = before is None or before.string != reading.string or not before.in_tune
        if reading.in_tune and fresh:
            self._results[reading.string] = reading.cents
            self._room.journal.write(StringTuned(reading.string, round(reading.cents, 1)))

    def _refresh(self) -> None:
        reading = self._reading
        strings = tuple(self._string(number) for number in range(len(self._settings.tuning), 0, -1))
        if reading is None:
            said = "Pluck a string, and let it ring."
            if self._locked is not None:
                said = f"Pluck the {self._called(self._locked)} string, and let it ring."
            if self._other:
                said = f"{OTHER_WORDS} {said}"
            self._show(Ready(TunerView(said, "", None, False, False, "", strings, self._locked)))
            return
        name = self._name(reading.string)
        following = next((self._called(string.number) for string in strings if not string.done), None)
        said = tuning_words(self._called(reading.string), reading.cents, in_tune=reading.in_tune)
        if reading.in_tune:
            said += f" Next: {following}." if following is not None else " All strings are in tune."
        warn = over_tight_words(reading) if reading.warn_over_tight else ""
        self._show(
            Ready(
                TunerView(
                    said, name, reading.cents, reading.steady, reading.in_tune, warn, strings, self._locked
                )
            )
        )  # fmt: skip

    def _string(self, number: int) -> StringView:
        cents = self._results.get(number)
        result = "" if cents is None else "in tune"
        meant = self._reading is not None and self._reading.string == number
        return StringView(number, self._name(number), result, cents is not None, meant)

    def _called(self, string: int) -> str:
        """Its name in a sentence: of two with one name the low or the high one."""
        name = self._name(string)
        alike = [each for each in range(len(self._settings.tuning), 0, -1) if self._name(each) == name]
        if len(alike) == 1:
            return name
        if string in {alike[0], alike[-1]}:
            return f"{'low' if string == alike[0] else 'high'} {name}"
        return f"middle {name}"

    def _name(self, string: int) -> str:
        midi = self._settings.tuning[len(self._settings.tuning) - string]
        return screen_name(Pitch.from_midi(midi), self._settings.naming)


def _fades(before: TunerReading, reading: TunerReading) -> bool:
    """Whether a string that was in tune is only dying away."""
    same = reading.string == before.string and reading.pluck == before.pluck
    return same and before.in_tune and not reading.in_tune and not reading.steady


def tuning_words(name: str, cents: float, *, in_tune: bool) -> str:
    """What to do with a string that is so many cents off."""
    if in_tune:
        return f"Your {name} is in tune."
    off = abs(cents)
    if off <= WITHIN_CENTS:
        return f"Your {name} is there: let it ring a moment."
    way, turn = ("low", "tighten") if cents < 0 else ("high", "loosen")
    if off <= LITTLE_CENTS:
        return f"Your {name} is a little {way}: {turn} slightly."
    if off <= FAR_CENTS:
        return f"Your {name} is {way}: {turn}."
    return f"Your {name} is far too {way}: {turn} slowly."


def over_tight_words(reading: TunerReading) -> str:
    """The warning before a string breaks."""
    if reading.cents > 0:
        return f"Stop: this string is too tight. Loosen it first. {CAUTION}"
    return f"Look which peg you turn before you tighten: this may be another string. {CAUTION}"


def _nothing() -> None:
    """Nothing to leave yet."""
