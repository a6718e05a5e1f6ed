"""The practice room: one journal and one studio for the whole run of the app, opened when first needed."""

from collections.abc import Callable

from coach.errors import DeviceError
from coach.sessions.journal import Journal
from coach.sessions.services import Services
from coach.sessions.studio import Studio


class PracticeRoom:
    """What all screens share; the app makes one and closes it at its end.

    Parameters
    ----------
    services
        The adapters.
    """

    def __init__(self, services: Services) -> None:
        self._services = services
        self._journal: Journal | None = None
        self._studio: Studio | None = None

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
        """
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
        if self._studio is None:
            studio = Studio(self._services, self.journal)
            try:
                studio.open()
            except DeviceError:
                studio.close()
                raise
            self._studio = studio
        return self._studio

    def leave_studio(self) -> None:
        """Close microphone and loudspeaker, so that changed settings count when they are opened again."""
        if self._studio is not None:
            self._studio.close()
            self._studio = None

    def close(self) -> None:
        """Close everything; harmless when nothing is open."""
        closers: list[Callable[[], None]] = [self.leave_studio]
        if self._journal is not None:
            closers.append(self._journal.close)
        for close in closers:
            close()
        self._journal = None
