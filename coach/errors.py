"""The one tree of errors that a user may see.

::

    CoachError                  code, message: one sentence that says what to do next
    ├── InputError              a file or a text that cannot be used as it is
    │   ├── UnreadableFileError the file is missing, empty, broken or of an unknown kind
    │   ├── TooLargeError       longer, larger or deeper than the limits
    │   ├── NoteNameError       a note, key, meter or tuning that is not spelled as expected
    │   ├── LineError           notes that do not make one melody or one bass line
    │   └── DrillDataError      exercise data with a wrong field
    ├── ScopeError              more than the piece allows: a third note, a third reopening, a second piece
    ├── DeviceError             no microphone, loudspeaker, display or sound system, or one that went away
    ├── MissingPartError        a component (engine, font, codec) is not installed
    ├── StoreError              the log or a piece cannot be read or written
    │   └── LockedError         another copy of the app holds the data folder
    └── CancelledError          the user stopped a long job

Wrong use of a function by other code is ``ValueError``, never one of these.
"""


class CoachError(Exception):
    """Root of every error whose message is shown to the user.

    Parameters
    ----------
    message
        One clear sentence that says what happened and what to do next.
    code
        A short stable word for programs (the ``code`` of a JSON error); the class's own by default.
    """

    code = "error"

    def __init__(self, message: str, *, code: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        if code is not None:
            self.code = code


class InputError(CoachError):
    """A file or a text that cannot be used as it is."""

    code = "bad_input"


class UnreadableFileError(InputError):
    """The file is missing, empty, broken or of an unknown kind."""

    code = "unreadable"


class TooLargeError(InputError):
    """The input goes over a stated limit of length, size or depth."""

    code = "too_large"


class NoteNameError(InputError):
    """A note, key, meter or tuning is not spelled as expected."""

    code = "bad_name"


class LineError(InputError):
    """The notes do not make one melody or one bass line."""

    code = "bad_line"


class DrillDataError(InputError):
    """Exercise data holds a wrong field."""

    code = "bad_drill"


class ScopeError(CoachError):
    """More than the piece allows: a third note, a third reopening, a second piece in hand."""

    code = "out_of_scope"


class DeviceError(CoachError):
    """A microphone, loudspeaker, display or the sound system is missing or went away."""

    code = "no_device"


class MissingPartError(CoachError):
    """A component that the job needs is not installed."""

    code = "missing_part"


class StoreError(CoachError):
    """The log or a piece cannot be read or written."""

    code = "store"


class LockedError(StoreError):
    """Another copy of the app holds the data folder."""

    code = "locked"


class CancelledError(CoachError):
    """The user stopped a long job."""

    code = "cancelled"
