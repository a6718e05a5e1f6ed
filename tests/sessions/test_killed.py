"""A process that is killed at any moment loses no note that was placed."""

import signal
import subprocess
import sys
from pathlib import Path

import pytest

from coach.bootstrap import make_services
from coach.notation import LineKind
from coach.sessions.journal import Journal
from coach.sessions.piece.line_desk import LineDesk

PLACING = """
import sys
from fractions import Fraction
from pathlib import Path
from coach.bootstrap import make_services
from coach.notation import LineKind
from coach.practice.events import GridSet, PieceChosen, SectionRecord, SectionsSet
from coach.sessions.journal import Journal
from coach.sessions.piece.line_desk import LineDesk

services = make_services(Path(sys.argv[1]))
journal = Journal(services.log(), services.clock)
journal.write(PieceChosen("p", "Ferry Bell", "a" * 64))
journal.write(GridSet("p", "4/4", Fraction(0), (Fraction(0), Fraction(4)), (0.0, 3.0)))
journal.write(SectionsSet("p", (SectionRecord("A", Fraction(0), Fraction(32)),)))
desk = LineDesk(journal, "A", LineKind.MELODY)
for count in range(64):
    desk.place(Fraction(count, 2), Fraction(1, 2), 60 + count % 12)
    print(count, flush=True)
"""
SIGKILL = -9


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="kill -9 is a POSIX signal")
@pytest.mark.parametrize("placed", [1, 2, 7, 20])
def test_every_note_told_as_placed_is_there_after_kill_9(tmp_path: Path, placed: int) -> None:
    child = subprocess.Popen(
        [sys.executable, "-c", PLACING, str(tmp_path)], stdout=subprocess.PIPE, text=True
    )
    assert child.stdout is not None
    for _ in range(placed):
        assert child.stdout.readline()
    child.kill()
    told = placed + len(child.stdout.read().splitlines())  # what it still said before it died
    child.stdout.close()
    assert child.wait() == SIGKILL
    services = make_services(tmp_path)
    journal = Journal(services.log(), services.clock)  # the dead process's lock does not shut us out
    notes = LineDesk(journal, "A", LineKind.MELODY).line.notes
    journal.close()
    assert told <= len(notes) <= told + 1
    assert [note.midi for note in notes] == [60 + count % 12 for count in range(len(notes))]
