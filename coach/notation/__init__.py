"""Written music: notes, lines that are monophonic by construction, arrangements of two lines."""

from coach.notation.arrangement import Arrangement
from coach.notation.line import Line, LineKind
from coach.notation.note import Note, Place
from coach.notation.section import Section

__all__ = ["Arrangement", "Line", "LineKind", "Note", "Place", "Section"]
