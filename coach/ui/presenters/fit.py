"""A key for the guitar: three to five keys with capo, each with its reasons and a sound sample."""

from dataclasses import dataclass, replace

from typing_extensions import override

from coach.fretboard import Tuning
from coach.music import Key
from coach.notation import Line, LineKind
from coach.pieces.fit import FitOption, fit
from coach.pieces.key_of_line import key_of_line
from coach.practice.piece_state import Cell, SectionState
from coach.sessions.piece.beat_desk import BeatDesk
from coach.sessions.piece.material import grid_of, note_of, section_of
from coach.sessions.player_port import LoopPart
from coach.sessions.ports import Jobs, UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.sessions.survey import survey
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.piece_page import PiecePagePresenter
from coach.ui.presenters.view import Empty, Ready


@dataclass(frozen=True, slots=True)
class FitChoice:
    """One key: its words, its reasons, whether its sample sounds."""

    title: str
    reasons: tuple[str, ...]
    playing: bool = False


@dataclass(frozen=True, slots=True)
class FitView:
    """The keys, and which one is chosen."""

    sentence: str
    choices: tuple[FitChoice, ...]
    chosen: int = 0
    said: str = ""


@dataclass(frozen=True, slots=True)
class _Found:
    options: tuple[FitOption, ...]
    tuning_cents: float


class FitPresenter(PiecePagePresenter[FitView]):
    """Offers keys after the first phrase of the tune."""

    def __init__(self, room: PracticeRoom, section: str, later: UiCalls, jobs: JobRunner, go: Go) -> None:
        opening, failure = "Looking for keys that suit the guitar", "No key could be proposed."
        super().__init__(room, section, later, jobs, go, opening=opening, failure=failure)
        self._found: _Found | None = None
        self._chosen = 0
        self._sounding: int | None = None

    @override
    def opened(self) -> None:
        section = self._state
        if section is None or not section.melody.notes:
            self._show(Empty("Find the tune first: then I can say which keys suit.", "To the piece"))
            return
        self._start(self._look, self._looked)

    @override
    def closed(self) -> None:
        self.cancel()
        self._stop()

    @override
    def _act(self) -> None:
        """Use the chosen key, and go on to the bass, or back to the piece where that is found."""
        self._guarded(self._use)

    def choose(self, index: int) -> None:
        """Choose a key."""
        self._chosen, self._said = index, ""
        self._refresh()

    def hear(self, index: int) -> None:
        """Hear the recording in a key, or stop it."""
        self._guarded(lambda: self._hear(index))

    def _hear(self, index: int) -> None:
        player, found = self._room.player(), self._found
        if player is None or found is None:
            self._said = "There is no loudspeaker: choose by the reasons."
        elif self._sounding == index:
            self._stop()
        else:
            section = self._state
            grid = grid_of(self._piece)
            if section is not None:
                from_s, to_s = max(0.0, grid.second_of(section.onset)), grid.second_of(section.end)
                shift = found.options[index].shift_semitones - found.tuning_cents / 100.0
                player.play(LoopPart(from_s, to_s, 1.0, shift))
                self._sounding = index
        self._refresh()

    def _use(self) -> None:
        found = self._found
        if found is None:
            return
        option = found.options[self._chosen]
        BeatDesk(self._room.journal).choose_key(
            option.key,
            capo=option.capo,
            shift_semitones=option.shift_semitones,
            tuning_cents=found.tuning_cents,
            melody_octaves=option.melody_octaves,
            bass_octaves=option.bass_octaves,
        )
        state = self._state
        if state is not None and state.bass.cell is Cell.SETTLED:
            self._go("piece", section=self._section)
        else:
            self._go("workbench", section=self._section, line=LineKind.BASS.value)

    def _look(self, jobs: Jobs) -> _Found:
        room = self._room
        recording = room.recording(jobs)
        heard = survey(room.services, room.recording_path(), jobs)
        line = sung_line(section_of(self._piece, self._section))
        key = Key.parse(heard.key) if heard.key else key_of_line((n.midi, float(n.duration)) for n in line)
        tuning = Tuning(self._settings.tuning)
        return _Found(fit(line, None, key, tuning), recording.analysis.tuning_cents)

    def _looked(self, found: _Found) -> None:
        self._found = found
        self._refresh()

    def _stop(self) -> None:
        player = self._room.player()
        if player is not None:
            player.stop()
        self._sounding = None

    @override
    def _refresh(self) -> None:
        found = self._found
        if found is None:
            return
        choices = tuple(
            FitChoice(title_of(option), option.reasons, self._sounding == index)
            for index, option in enumerate(found.options)
        )
        sentence = "These keys suit your guitar. From now on the recording sounds in the one you use."
        self._show(Ready(FitView(sentence, choices, self._chosen, self._said)))


def sung_line(section: SectionState) -> Line:
    """The tune as it is in the recording, whatever key it was put into since."""
    melody, plain = section.melody, Key("C", 0)
    recorded = (replace(record, midi=record.midi - melody.shift) for record in melody.notes)
    return Line.of(LineKind.MELODY, (note_of(record, plain) for record in recorded))


def title_of(option: FitOption) -> str:
    """A key in words, such as “G, no capo” or “A, capo on fret 2: you play in G”."""
    name = option.key.name.replace("#", "♯").replace("b", "♭").removesuffix("m")
    name += " minor" if option.key.name.endswith("m") else ""
    if not option.capo:
        return f"{name}, no capo"
    shape = option.shape.name.removesuffix("m").replace("#", "♯").replace("b", "♭")
    return f"{name}, capo on fret {option.capo}: your hand plays in {shape}"
