"""The practice room: one journal and one studio for the whole run of the app, opened when first needed."""

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from threading import Lock

from coach.errors import CoachError, DeviceError, ScopeError, StoreError
from coach.sessions.journal import Journal
from coach.sessions.player_port import LoopPlayer
from coach.sessions.ports import AudioOutput, Jobs, Samples
from coach.sessions.recordings import AnalysedRecording, analysed
from coach.sessions.services import Services
from coach.sessions.stopwatch import Activity, Stopwatch
from coach.sessions.studio import Studio


class PracticeRoom:
    """What all screens share; the app makes one and closes it at its end.

    Parameters
    ----------
    services
        The adapters.
    troubled
        Told, on the listening thread, of what could not be kept of what was heard.
    """

    def __init__(
        self, services: Services, troubled: Callable[[CoachError], None] = lambda _error: None
    ) -> None:
        self._services, self._troubled = services, troubled
        self._journal: Journal | None = None
        self._stopwatch = Stopwatch(services.clock)
        self._studio: Studio | None = None
        self._player: LoopPlayer | None = None
        self._loaded: str | None = None
        self._recording: tuple[str, AnalysedRecording] | None = None
        self._put_by: dict[str, tuple[Samples, int]] = {}
        self._resting = False
        self._changing = Lock()

    @property
    def services(self) -> Services:
        """The adapters."""
        return self._services

    @property
    def journal(self) -> Journal:
        """The one writer of the log.

        Raises
        ------
        LockedError
            While another copy of the app has the data folder.
        StoreError
            While the room rests, or if the log is damaged.
        """
        if self._resting:
            raise StoreError("A back-up is being put in place: wait until that is done.")
        if self._journal is None:
            self._journal = Journal(self._services.log(), self._services.clock)
        return self._journal

    def studio(self) -> Studio:
        """Microphone, loudspeaker and ear, open and listening.

        Raises
        ------
        DeviceError
            If there is no microphone: the screen says so, and the rest works on.
        """
        studio = self._opened()
        if studio.deaf_because is not None:
            raise studio.deaf_because
        return studio

    def loudspeaker(self) -> AudioOutput | None:
        """The output, open; ``None`` where nothing can sound. Needs no microphone."""
        try:
            return self._opened().output
        except DeviceError:
            return None

    def player(self) -> LoopPlayer | None:
        """The player of the piece's recording, loaded; ``None`` where nothing can sound."""
        output = self.loudspeaker()
        if output is None:
            return None
        if self._player is None:
            self._player = self._services.player(output)
            self._loaded = None
        if self._recording is not None and self._loaded != self._recording[0]:
            audio = self._recording[1].audio
            self._player.load(audio.stereo, audio.rate_hz, audio.sha256)
            self._loaded = self._recording[0]
        return self._player

    def recording(self, jobs: Jobs | None = None) -> AnalysedRecording:
        """The recording of the piece in hand, decoded and analysed once.

        Raises
        ------
        ScopeError
            If no piece is in hand, or its recording is not there.
        """
        piece = self.journal.piece_in_hand
        if self._recording is None or self._recording[0] != piece.piece:
            self._recording = (piece.piece, analysed(self._services, self.recording_path(), jobs))
        return self._recording[1]

    def recording_path(self) -> Path:
        """Where the recording of the piece in hand lies; ``ScopeError`` as `recording`."""
        piece = self.journal.piece_in_hand
        path = self._services.library().find(piece.piece).recording
        if path is None:
            raise ScopeError(
                "The recording of this piece is not here: open the piece's page and say where the file is."
            )
        return path

    def put_by(self, what: str, samples: Samples, rate_hz: int) -> None:
        """Hold a recording that is not kept yet while its screen is left; empty ones are not held."""
        if len(samples):
            self._put_by[what] = (samples, rate_hz)

    def pick_up(self, what: str) -> tuple[Samples, int] | None:
        """A recording that was put by, and its rate in Hz; it is held no longer."""
        return self._put_by.pop(what, None)

    def turn_to(self, activity: Activity | None) -> None:
        """What is practised from now on; what was practised until now goes into the log.

        Where it cannot be written now, nobody is kept on a screen for its sake: it is written later.
        """
        with suppress(StoreError):
            self._stopwatch.turn_to(activity, self._journal)

    def _opened(self) -> Studio:
        if self._studio is None:
            studio = Studio(self._services, self.journal)
            studio.listener.troubled = self._troubled
            studio.open()
            self._studio = studio
        return self._studio

    def leave_studio(self) -> None:
        """Close microphone and loudspeaker, so that changed settings count when they are opened again."""
        if self._player is not None:
            self._player.close()
            self._player = None
        if self._studio is not None:
            self._studio.close()
            self._studio = None

    def rest(self) -> None:
        """Let go of all files and of all that was read, for `restore`; until `wake` nothing is written."""
        self.close()
        self._recording = self._loaded = None
        self._put_by.clear()
        self._resting = True

    @property
    def resting(self) -> bool:
        """Whether a back-up is being put in place, so that no screen should be changed."""
        return self._resting

    def restore(self, path: Path, jobs: Jobs | None = None) -> Path | None:
        """Put a back-up in the place of what is here while the room rests; may take long, in any thread.

        Returns
        -------
        Path or None
            Where what was here is kept, ``None`` if there was nothing.

        Raises
        ------
        CoachError
            As `Exchange.restore`; nothing is changed then.
        """
        with self._changing:
            return self._services.exchange().restore(path, self._services.clock.now(), jobs)

    def wake(self) -> None:
        """Open again when it is next asked for, with what is there now."""
        self._resting = False

    def close(self) -> None:
        """Close everything; harmless when nothing is open. Waits for a back-up that is being put in place."""
        with self._changing:
            pass  # the program must not end while one state takes the place of another
        self.turn_to(None)
        self.leave_studio()
        if self._journal is not None:
            self._journal.close()
            self._journal = None
