"""Long work beside the screen, as presenters start it (see `coach.ui.jobs`)."""

from coach.ui.jobs import InlineRunner, Job, JobRunner, ThreadRunner

__all__ = ["InlineRunner", "Job", "JobRunner", "ThreadRunner"]
