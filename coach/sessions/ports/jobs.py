"""Long jobs: progress and cancelling."""

from typing import Protocol


class Jobs(Protocol):
    """How a long job tells its progress and learns that it is to stop."""

    def progress(self, share: float, what: str) -> None:
        """Tell how far it is, 0 to 1, and in words what is being done.

        Raises
        ------
        CancelledError
            If the user has stopped the job: let it pass.
        """
        ...
