"""A practice room whose microphone, loudspeaker and clock are scripted; log and drills are real."""

from dataclasses import replace
from pathlib import Path
from random import Random
from types import SimpleNamespace
from typing import Any

from coach.bootstrap import make_services
from coach.errors import DeviceError
from coach.sessions.deafness import DEFAULT_ROUND_TRIP_S
from coach.sessions.journal import Journal
from coach.sessions.practice_room import PracticeRoom
from coach.sessions.studio import WayKnown
from coach.tones.learner import EXACT, plucked, sung
from coach.tones.prompt import PromptNote
from tests.fakes import MemoryLog
from tests.sessions.test_listener import Room


class ScriptedRoom(PracticeRoom):
    """The real room but for its devices, its clock and where the log is kept."""

    def __init__(
        self,
        folder: Path,
        *,
        microphone: bool = True,
        log: MemoryLog | None = None,
        **others: Any,
    ) -> None:
        """``others`` are `Services` in place of the real ones."""
        self.world = Room()
        self.log = log or MemoryLog()
        self.has_microphone = microphone
        self.way = (DEFAULT_ROUND_TRIP_S, WayKnown.ALLOWED)
        services = replace(make_services(folder), clock=self.world.clock, read_log=self._read_log)
        super().__init__(replace(services, **others))
        self._journal = Journal(self.log, self.world.clock)

    def _read_log(self) -> MemoryLog:
        return MemoryLog(self.log.logged, read_only=True)

    def studio(self) -> Any:
        if not self.has_microphone:
            raise DeviceError("There is no microphone: plug one in.")
        return SimpleNamespace(
            listener=self.world.listener,
            output=self.world.output,
            deafness=self.world.deafness,
            way=self.way,
        )

    def loudspeaker(self) -> Any:
        return self.world.output

    def leave_studio(self) -> None:
        """Nothing is open that could be closed."""

    def player(self) -> Any:
        return None

    def sing(self, midi: int, *, seconds: float = 1.6) -> None:
        note = PromptNote(midi, 0.2, 0.2 + seconds)
        self.world.microphone.say(sung([note], 48_000, Random(1), manner=EXACT))

    def pluck(self, midi: int, *, seconds: float = 1.2) -> None:
        note = PromptNote(midi, 0.2, 0.2 + seconds)
        self.world.microphone.say(plucked([note], 48_000, Random(3), manner=EXACT))

    def events(self, kind: type) -> list[Any]:
        return [each.event for each in self.log.logged if isinstance(each.event, kind)]

    def until(self, condition: Any, seconds: float = 20.0) -> None:
        """Let scripted time pass until something is so."""
        passed = 0.0
        while not condition():
            assert passed < seconds, "it does not happen"
            self.world.let_pass(0.05)
            passed += 0.05
