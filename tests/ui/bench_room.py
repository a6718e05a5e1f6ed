"""A workbench without devices, disk or recording: what the recording holds is known to the test alone."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from types import SimpleNamespace
from typing import Any

import numpy as np

from coach.errors import DeviceError
from coach.hearing.evidence import Bars, PitchEvidence
from coach.music import Meter
from coach.notation import LineKind
from coach.practice.events import Event, GridSet, PieceChosen, SectionRecord, SectionsSet
from coach.practice.piece_state import PieceState
from coach.practice.settings import Settings
from coach.sessions.journal import Journal
from coach.sessions.piece.check_desk import CheckDesk
from coach.sessions.piece.material import grid_of, span_of
from coach.sessions.player_port import LoopPart, PlayerState
from coach.ui.jobs import InlineRunner
from coach.ui.presenters.view import Ready
from coach.ui.presenters.workbench import WorkbenchPresenter
from coach.ui.presenters.workbench_view import WorkbenchView
from tests.fakes import FakeClock, MemoryLog
from tests.ui.stage import Now, Went

BARS, QUARTER_S = 4, 0.75
LOWEST = 28
PITCHES = 73


@dataclass
class FakePlayer:
    """The `LoopPlayer` port that sounds nothing and remembers all."""

    state: PlayerState = PlayerState.STOPPED
    position_s: float | None = None
    best: bool = True
    parts: list[LoopPart] = field(default_factory=list)
    volumes_db: list[float] = field(default_factory=list)

    def play(self, part: LoopPart) -> None:
        self.parts.append(part)
        self.state, self.position_s = PlayerState.PLAYING, part.from_s

    def hold(self) -> None:
        self.state = PlayerState.HOLDING

    def release(self) -> None:
        self.state = PlayerState.PLAYING

    def stop(self) -> None:
        self.state, self.position_s = PlayerState.STOPPED, None

    def set_volume(self, gain_db: float) -> None:
        self.volumes_db.append(gain_db)


def beginnings(meter: str = "4/4", pickup: Fraction = Fraction(0)) -> tuple[Event, ...]:
    """A piece in hand with one section of four bars."""
    end = pickup + BARS * Meter.parse(meter).bar
    grid = GridSet("p", meter, pickup, (Fraction(0), Fraction(1)), (1.0, 1.0 + QUARTER_S))
    sections = SectionsSet("p", (SectionRecord("A", Fraction(0), end),))
    return PieceChosen("p", "Ferry Bell", "a" * 64), grid, sections


class BenchRoom:
    """As much of the practice room as the workbench needs."""

    def __init__(self, *events: Event, settings: Settings | None = None) -> None:
        self.log = MemoryLog()
        self.journal = Journal(self.log, FakeClock())
        for event in events or beginnings():
            self.journal.write(event)
        self.fake_player = FakePlayer()
        self.services = SimpleNamespace(
            current_settings=lambda: settings or Settings(),
            evidence_model=lambda: None,
            read_log=lambda: MemoryLog(list(self.log.logged)),
            library=lambda: SimpleNamespace(read=lambda *_: None),
            clock=FakeClock(),
        )

    def recording(self, _jobs: object = None) -> Any:
        audio = SimpleNamespace(mono=np.zeros(8_000, np.float32), rate_hz=100)
        return SimpleNamespace(audio=audio, analysis=SimpleNamespace(duration_s=80.0))

    def studio(self) -> Any:
        raise DeviceError("There is no microphone: plug one in.")

    def loudspeaker(self) -> Any:
        return None

    def player(self) -> FakePlayer:
        return self.fake_player

    def events(self, kind: type) -> list[Any]:
        return [each.event for each in self.log.logged if isinstance(each.event, kind)]


class KnownDesk(CheckDesk):
    """The real desk on evidence that is known: the same note everywhere."""

    truth = 61

    def _evidence(
        self, piece: PieceState, kind: LineKind, onset: Fraction, duration: Fraction
    ) -> PitchEvidence:
        table = tuple(0.97 if LOWEST + k == self.truth else 0.03 / PITCHES for k in range(PITCHES))
        span = span_of(grid_of(piece), onset, duration)
        return PitchEvidence(kind, span, LOWEST, table, table, table, 1.0, Bars())


def opened(
    room: Any, monkeypatch: Any, kind: LineKind = LineKind.MELODY, truth: int = 61
) -> WorkbenchPresenter:
    """The presenter at section A, with the truth behind its desk."""
    desk = type("KnownDesk", (KnownDesk,), {"truth": truth})
    monkeypatch.setattr("coach.ui.presenters.workbench.CheckDesk", desk)
    presenter = WorkbenchPresenter(room, "A", kind, Now(), InlineRunner(), Went())
    presenter.opened()
    return presenter


def view_of(presenter: WorkbenchPresenter) -> WorkbenchView:
    assert isinstance(presenter.view, Ready), presenter.view
    return presenter.view.value


def find(presenter: WorkbenchPresenter, midis: Sequence[int]) -> None:
    """Place some notes one after the other from where the workbench is."""
    for midi in midis:
        presenter.work(lambda note, midi=midi: note.propose(midi))
        presenter.act()
        written = presenter._work.note
        assert written is not None
        presenter.choose(presenter._kind, written.end)
