"""A teacher's lines answer exactly; a simpler line never fails a true note."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from random import Random

import pytest

from coach.bootstrap import make_services
from coach.hearing.evidence import PitchEvidence
from coach.music import Pitch
from coach.notation import Arrangement, LineKind
from coach.pieces.verdicts import Outcome, Verdict
from coach.sessions.demo.learner import SimulatedLearner
from coach.sessions.piece.beat_desk import BeatDesk
from coach.sessions.piece.bringing_in import bundled_pieces, take_bundled
from coach.sessions.piece.check_desk import CheckDesk
from coach.sessions.piece.reference import REFERENCE, reference_of
from coach.sessions.practice_room import PracticeRoom
from coach.sheet import write_musicxml


@dataclass
class Taught:
    room: PracticeRoom
    lines: Arrangement
    checks: CheckDesk


@pytest.fixture(scope="module")
def taught(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Taught]:
    services = make_services(tmp_path_factory.mktemp("taught"))
    room = PracticeRoom(services)
    bundled = bundled_pieces(services)[0]
    piece = take_bundled(services, room.journal, bundled.id)
    # The teacher's tune holds every first note for a whole bar: simpler than what is played.
    simple = [n for n in bundled.melody if n.onset % 4 == 0]
    tune = bundled.arrangement.melody.of(LineKind.MELODY, simple)
    services.library().write(piece, REFERENCE, write_musicxml(bundled.arrangement.with_line(tune)))
    taps_s, one_s = SimulatedLearner(bundled, Random(1)).taps(16)
    beat = BeatDesk(room.journal)
    beat.tap(taps_s, one_s, bundled.meter, duration_s=23.0)
    beat.cut(8)
    reference = reference_of(services, piece)
    checks = CheckDesk(room.journal, room.recording(), services.evidence_model(), "A", reference)
    yield Taught(room, bundled.arrangement, checks)
    room.close()


def ask(taught: Taught, onset: str, name: str, duration: str = "1") -> tuple[Outcome, bool]:
    midi = Pitch.parse(name).midi
    verdict = taught.checks.check(LineKind.MELODY, Fraction(onset), Fraction(duration), midi)
    return verdict.outcome, verdict.exact


def test_the_reference_answers_exactly(taught: Taught) -> None:
    assert ask(taught, "0", "B4") == (Outcome.HEARD, True)
    assert ask(taught, "0", "B3") == (Outcome.OTHER_OCTAVE, True)
    assert ask(taught, "0", "C5") == (Outcome.NOT_HEARD, True)


class Ear:
    """What the recording alone says, whatever is asked."""

    def __init__(self, outcome: Outcome) -> None:
        self.outcome = outcome

    def __call__(self, found: PitchEvidence, _piece: object, kind: LineKind, midi: int) -> Verdict:
        return Verdict(kind, found.span, midi, self.outcome, None, 0.5)


@pytest.mark.parametrize("onset", ["0", "4"])
def test_where_the_teacher_holds_one_note_over_several_only_the_recording_says_no(
    taught: Taught, monkeypatch: pytest.MonkeyPatch, onset: str
) -> None:
    """A quarter asked about within a note that the teacher holds for longer is not failed by that note."""
    monkeypatch.setattr(CheckDesk, "_by_ear", Ear(Outcome.CANNOT_TELL))
    assert ask(taught, onset, "C5", "1/2") == (Outcome.CANNOT_TELL, False)
    monkeypatch.setattr(CheckDesk, "_by_ear", Ear(Outcome.NOT_HEARD))
    assert ask(taught, onset, "C5", "1/2") == (Outcome.NOT_HEARD, True)


def test_what_is_heard_in_the_recording_is_heard_whatever_the_reference_says(
    taught: Taught, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(CheckDesk, "_by_ear", Ear(Outcome.HEARD))
    for name in ("B3", "C5"):
        assert ask(taught, "0", name) == (Outcome.HEARD, False)


def test_where_the_reference_is_silent_the_recording_answers(taught: Taught) -> None:
    outcome, exact = ask(taught, "6", "E4", "2")  # the tune's own note, left out by the teacher
    assert outcome is not Outcome.NOT_HEARD
    assert not exact


def test_a_broken_or_missing_reference_is_none(taught: Taught) -> None:
    services = taught.room.services
    piece = taught.room.journal.progress.in_hand or ""
    services.library().write(piece, REFERENCE, b"<broken")
    assert reference_of(services, piece) is None
