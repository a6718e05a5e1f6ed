"""The one table of all commands; each lives in a module of its own, imported only when it is called."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Command:
    """A command: its word, the module that runs it, and what it does in a line."""

    word: str
    summary: str
    group: str

    @property
    def module(self) -> str:
        """Import path of the module with ``add_arguments`` and ``run``."""
        return f"coach.cli.commands.{self.word}"


COMMANDS = (
    Command("demo", "the whole job on the bundled piece, by the real paths", "the job"),
    Command("listen", "the notes of a recording with one note at a time", "hearing"),
    Command("tune", "string meant, cents off, steady or not", "hearing"),
    Command("survey", "first listen: tempo, tuning, clarity, and advice", "the recording"),
    Command("check", "is this note in the recording?", "the recording"),
    Command("hint", "one step of the hint ladder", "the recording"),
    Command("slow", "a slowed copy at the same or a shifted pitch", "the recording"),
    Command("write", "a sung or played line, written down", "the lines"),
    Command("fit", "keys and capos that suit the guitar", "the lines"),
    Command("finger", "the best fingering of two lines", "the lines"),
    Command("sheet", "finger and engrave: PDF, PNG, MusicXML, MIDI", "the lines"),
    Command("playthrough", "what was right in a recorded take", "the lines"),
    Command("drill", "one ear-training drill", "practice"),
    Command("today", "today's plan with minutes and forecast", "practice"),
    Command("log", "everything that was practised", "practice"),
    Command("report", "a report as HTML, PDF, JSON or CSV", "practice"),
    Command("remind", "practice reminders as a calendar file", "practice"),
    Command("pack", "make a teacher's pack of a piece", "files"),
    Command("unpack", "open a teacher's pack", "files"),
    Command("backup", "write everything into one file", "files"),
    Command("restore", "put a back-up in the place of what is there", "files"),
    Command("doctor", "what works on this machine, and what to do where it does not", "this machine"),
)
