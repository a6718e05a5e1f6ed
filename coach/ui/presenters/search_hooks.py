"""A search for changes beside the screen: it tells how far it is, shows its first find, can be stopped."""

from collections.abc import Callable

from coach.errors import CancelledError
from coach.pieces.change_search import Hooks, Proposal
from coach.sessions.ports import Jobs

TOLD_SHARE = 0.02
"""Progress is told each time so much more is done: a search has thousands of steps."""


def hooks_of(jobs: Jobs, what: str, found: Callable[[Proposal], None]) -> Hooks:
    """Hooks of a job: once it is stopped, the search ends with the best it has.

    Parameters
    ----------
    jobs
        Told the share done.
    what
        What is being done, in a few words.
    found
        Told the first proposal, on the job's thread.
    """
    stopped, told = False, 0.0

    def progress(share: float) -> None:
        nonlocal stopped, told
        if share - told < TOLD_SHARE:
            return
        told = share
        try:
            jobs.progress(share, what)
        except CancelledError:
            stopped = True

    return Hooks(on_first=found, on_progress=progress, cancelled=lambda: stopped)
