"""Recording a piece through the microphone, where there is no file of it."""

import tempfile
from dataclasses import dataclass, replace
from enum import Enum
from pathlib import Path

from typing_extensions import override

from coach.errors import CancelledError, CoachError, DeviceError
from coach.sessions.piece.bringing_in import import_recording
from coach.sessions.piece.play_desk import MOST_TAKE_S, TakeRecorder
from coach.sessions.ports import Jobs, Samples, Sound, UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.levels import ListenerLevel
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Failed, Missing, Ready, Working

SHORTEST_S = 5.0
"""Less is no piece: a slip of the finger (our own choice)."""
UNNAMED = "My recording"
MAY_USE = "Use recordings that you may use."
HELD = "a recording of the player's own"
"""What is put by when the screen is left before it is kept."""


class Turn(Enum):
    """Where the recording is."""

    BEFORE = "before"
    RUNNING = "running"
    AFTER = "after"


@dataclass(frozen=True, slots=True)
class RecordView:
    """Before, while, after.

    Parameters
    ----------
    length
        How long it is, in words; empty before.
    said
        What went wrong, empty else.
    """

    turn: Turn
    sentence: str
    action: str
    second: str
    name: str = ""
    length: str = ""
    said: str = ""
    sounding: bool = False


class RecordPresenter(Presenter[RecordView]):
    """Records, lets it be heard, and takes it in hand."""

    def __init__(self, room: PracticeRoom, later: UiCalls, jobs: JobRunner, go: Go) -> None:
        super().__init__(later, Working("Opening the microphone", None, can_cancel=False))
        self._room, self._jobs, self._go = room, jobs, go
        self._recorder: TakeRecorder | None = None
        self._take: Samples | None = None
        self._rate_hz = 0
        self._sound: Sound | None = None
        self._name, self._said, self._told_s = "", "", 0
        self.levels: ListenerLevel | None = None

    @override
    def opened(self) -> None:
        held = self._room.pick_up(HELD)
        if held is not None:
            self._take, self._rate_hz = held
        try:
            listener = self._room.studio().listener
        except DeviceError as error:
            self._show(Missing("There is nothing to record with.", error.message, "Look again"))
        except CoachError as error:
            self._show(Failed("The microphone could not be opened.", error.message))
        else:
            self.levels, self._recorder = ListenerLevel(listener), TakeRecorder(listener)
            if self._take is None:
                self._rate_hz = listener.rate_hz
            self._refresh()

    @override
    def closed(self) -> None:
        self.cancel()
        self._silence()
        take = self._recorder.stop() if self._recording and self._recorder is not None else self._take
        if take is not None:
            self._room.put_by(HELD, take, self._rate_hz)

    @override
    def act(self) -> None:
        """Record; stop; take it in hand."""
        match self._view:
            case Ready(RecordView(turn=Turn.BEFORE)):
                self._start()
            case Ready(RecordView(turn=Turn.RUNNING)):
                self._stop()
            case Ready(RecordView(turn=Turn.AFTER)):
                self._keep()
            case _:
                self.opened()

    def act_second(self) -> None:
        """Back, before and while recording; anew, after it."""
        if self._take is None:
            self._go("choose")
            return
        self._silence()
        self._take = None
        self.opened()

    def name(self, text: str) -> None:
        """What the piece is called."""
        self._name = text.strip()

    def hear(self) -> None:
        """Hear what was recorded, or stop it."""
        output = self._room.loudspeaker()
        if self._take is None:
            return
        if self._sound is not None and self._sound.playing:
            self._silence()
        elif output is None:
            self._said = "There is no loudspeaker to hear it by; it is recorded all the same."
        else:
            self._sound = output.play(self._take, self._rate_hz)
        self._refresh()

    def look_up(self) -> None:
        """Tell the seconds while it records, and that a sound has ended; the screen asks now and then."""
        recorder = self._recorder
        if recorder is not None and recorder.recording:
            if recorder.length_s >= MOST_TAKE_S:
                self._stop()
            elif int(recorder.length_s) != self._told_s:
                self._refresh()
        elif self._sound is not None and not self._sound.playing:
            self._sound = None
            self._refresh()

    def _start(self) -> None:
        if self._recorder is not None:
            self._said = ""
            self._recorder.start()
            self._refresh()

    def _stop(self) -> None:
        if self._recorder is None:
            return
        take = self._recorder.stop()
        if len(take) < SHORTEST_S * self._rate_hz:
            self._said = f"That was shorter than {SHORTEST_S:.0f} seconds: record the piece once more."
        else:
            self._take = take
        self._refresh()

    def _keep(self) -> None:
        self._silence()
        take, title = self._take, self._name or UNNAMED
        if take is None:
            return
        self._show(Working("Bringing the recording in", None))
        self._job = self._jobs.start(
            lambda jobs: self._bring_in(take, title, jobs),
            done=lambda _: self._kept(),
            failed=self._refused,
            progress=lambda share, what: self._show(Working(what, share)),
        )

    def _kept(self) -> None:
        self._take = None
        self._go("choose")

    def _bring_in(self, take: Samples, title: str, jobs: Jobs) -> str:
        room = self._room
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "recorded.flac"
            room.services.encoder().encode(path, take, self._rate_hz)
            return import_recording(room.services, room.journal, path, title=title, jobs=jobs)

    def _refused(self, error: CoachError) -> None:
        self._said = "" if isinstance(error, CancelledError) else error.message
        self._refresh()

    @property
    def _recording(self) -> bool:
        return self._recorder is not None and self._recorder.recording

    def _silence(self) -> None:
        if self._sound is not None:
            self._sound.stop()
            self._sound = None

    def _refresh(self) -> None:
        if self._take is not None:
            length = length_words(len(self._take) / self._rate_hz)
            sentence = f"Recorded: {length}. Hear it, or take it in hand."
            view = RecordView(Turn.AFTER, sentence, "Take this recording", "Record anew", self._name, length)
        elif self._recording and self._recorder is not None:
            self._told_s = int(self._recorder.length_s)
            length = length_words(self._told_s)
            view = RecordView(Turn.RUNNING, "I am recording. Stop me at the end.", "Stop", "", length=length)
        else:
            sentence = "Play the recording near the microphone, or play the piece yourself."
            view = RecordView(Turn.BEFORE, sentence, "Record", "Back")
        sounding = self._sound is not None and self._sound.playing
        self._show(Ready(replace(view, said=self._said, sounding=sounding)))


def length_words(seconds: float) -> str:
    """Minutes and seconds."""
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest} s" if minutes else f"{rest} s"
