"""Playing: the sheet of a section, the click and the other line, the play-through, and the take."""

from collections.abc import Callable
from enum import StrEnum
from fractions import Fraction

import numpy as np

from coach.errors import ScopeError
from coach.hearing.take import take_evidence
from coach.notation import Arrangement, Line, LineKind
from coach.pieces.change_search import Proposal
from coach.pieces.changes import mend
from coach.pieces.played import PlayThrough
from coach.pieces.playthrough import grade
from coach.practice.events import PieceFinished, PlayedSettled, PlayedThrough, TakeKept
from coach.sessions.journal import Journal
from coach.sessions.listener import Hearing, Listener
from coach.sessions.piece.material import arrangement_of, section_of
from coach.sessions.piece.neck_desk import Hand
from coach.sessions.piece.wished import settled_wishes
from coach.sessions.ports import Samples
from coach.sessions.services import Services
from coach.sheet.engrave import EngravedSheet, engrave
from coach.sheet.from_fretboard import marks_of
from coach.tones.lines import arrangement_sound

MOST_TAKE_S = 600.0
"""A take is at most ten minutes: a first piece lasts one."""


class Part(StrEnum):
    """What the player plays; the app plays the rest."""

    THUMB = "thumb"
    MELODY = "melody"
    PINCHES = "pinches"
    BOTH = "both"


APP_PLAYS = {
    Part.THUMB: (LineKind.MELODY,),
    Part.MELODY: (LineKind.BASS,),
    Part.PINCHES: (),
    Part.BOTH: (),
}
"""The lines that the app plays along."""
PLAYER_PLAYS = {
    Part.THUMB: (LineKind.BASS,),
    Part.MELODY: (LineKind.MELODY,),
    Part.PINCHES: tuple(LineKind),
    Part.BOTH: tuple(LineKind),
}
"""The lines that the player plays, and that a take is graded by."""
COUNT_S = 0.1
"""The last click of the count-in is over by then: the ear may open before the first note."""


class PlayDesk:
    """A section of the piece in hand, or the whole of it (``section`` None), to be played.

    Parameters
    ----------
    services
        Fonts, encoder, library.
    journal
        For what was played.
    hand
        Reach and tuning.
    section
        Name of the section, ``None`` for the whole piece.
    """

    def __init__(self, services: Services, journal: Journal, hand: Hand, section: str | None) -> None:
        self._services, self._journal, self._hand, self._section = services, journal, hand, section

    @property
    def arrangement(self) -> Arrangement:
        """What is played."""
        names = None if self._section is None else [self._section]
        return arrangement_of(self._journal.piece_in_hand, names)

    def sheet(self) -> EngravedSheet:
        """The engraved sheet with its fingering.

        Raises
        ------
        ScopeError
            If the lines cannot be played as they are.
        """
        best = self._under_the_hand()
        marks, fonts = marks_of(best.fingering), self._services.fonts()
        return engrave(best.arrangement, marks, fonts, whole=self._section is None)

    def accompaniment(self, part: Part, tempo_bpm: float, rate_hz: int) -> Samples:
        """Count-in, click, and the line that the player does not play; stereo."""
        arrangement = self.arrangement
        start, end = self._stretch(arrangement)
        return arrangement_sound(
            arrangement,
            rate_hz,
            tempo_bpm=tempo_bpm,
            start=start,
            end=end,
            lines=APP_PLAYS[part],
            counted=True,
            clicking=True,
        )

    def count_in(self, tempo_bpm: float, rate_hz: int) -> Samples:
        """One bar of clicks and nothing after them, so that what follows can be listened to; stereo."""
        arrangement = self.arrangement
        start, _ = self._stretch(arrangement)
        whole = arrangement_sound(
            arrangement, rate_hz, tempo_bpm=tempo_bpm, start=start, end=start, lines=(), counted=True
        )
        beat_s = float(arrangement.meter.beat) * 60.0 / tempo_bpm
        return whole[: round(((arrangement.meter.beats - 1) * beat_s + COUNT_S) * rate_hz)]

    def grade(
        self, take: Samples, rate_hz: int, tempo_bpm: float | None = None, *, part: Part = Part.BOTH
    ) -> PlayThrough:
        """Grade a take against what the sheet shows, and log it unless it cannot be followed.

        Parameters
        ----------
        take
            Mono, shape (n,).
        tempo_bpm
            Of the click that the player heard, quarter notes a minute; ``None`` without one: best fit.
        part
            What was played.

        Raises
        ------
        ScopeError
            If the lines cannot be played as they are.
        """
        wanted = self._under_the_hand().arrangement
        if part is Part.PINCHES:
            wanted = _pinches(wanted)
        played = grade(wanted, take_evidence(take, rate_hz), tempo_bpm=tempo_bpm, lines=PLAYER_PLAYS[part])
        if played.line is not None:
            self._journal.write(
                PlayedThrough(
                    self._journal.piece_in_hand.piece,
                    self._section,
                    part.value,
                    round(played.line.tempo_bpm, 1),
                    round(played.right_share, 4),
                    played.hardest_bar,
                )
            )
        return played

    def played(self, part: Part, tempo_bpm: float) -> None:
        """Note that it was played."""
        self._journal.write(
            PlayedThrough(self._journal.piece_in_hand.piece, self._section, part.value, tempo_bpm)
        )

    def settle(self) -> None:
        """Call the section played well enough for now; ``ScopeError`` before it lies on the neck."""
        if self._section is not None:
            self._journal.write(PlayedSettled(self._journal.piece_in_hand.piece, self._section))

    def keep(self, take: Samples, rate_hz: int) -> str:
        """Keep a whole take as FLAC in the piece's folder; returns the file's name."""
        piece = self._journal.piece_in_hand
        name = f"take-{len(piece.takes) + 1}.flac"
        path = self._services.library().find(piece.piece).folder / name
        self._services.encoder().encode(path, take, rate_hz)
        self._journal.write(TakeKept(piece.piece, name, round(len(take) / rate_hz, 2)))
        return name

    def finish(self) -> None:
        """Call the piece done; ``ScopeError`` while a section or the take is missing."""
        self._journal.write(PieceFinished(self._journal.piece_in_hand.piece))

    def _under_the_hand(self) -> Proposal:
        names = None if self._section is None else [self._section]
        arrangement = self.arrangement
        wishes = settled_wishes(self._journal.piece_in_hand, arrangement, names)
        mended = mend(arrangement, tuning=self._hand.tuning, reach=self._hand.reach, wishes=wishes)
        if mended.best is None:
            raise ScopeError("These lines cannot be played as they are: go back to “Together” first.")
        return mended.best

    def _stretch(self, arrangement: Arrangement) -> tuple[Fraction, Fraction]:
        if self._section is None:
            return arrangement.bar_start(0), arrangement.end
        state = section_of(self._journal.piece_in_hand, self._section)
        return state.onset, state.end


def _pinches(arrangement: Arrangement) -> Arrangement:
    """Only the notes that both lines strike at once."""
    together = {note.onset for note in arrangement.melody} & {note.onset for note in arrangement.bass}
    for line in arrangement.lines:
        pinched = Line(line.kind, tuple(note for note in line if note.onset in together))
        arrangement = arrangement.with_line(pinched)
    return arrangement


class TakeRecorder:
    """Records what the listener's microphone takes in, the app's own sound left out."""

    def __init__(self, listener: Listener) -> None:
        self._listener = listener
        self._parts: list[Samples] = []
        self._leave: Callable[[], None] | None = None

    @property
    def recording(self) -> bool:
        """Whether it records now."""
        return self._leave is not None

    @property
    def length_s(self) -> float:
        """Seconds recorded so far."""
        return sum(len(part) for part in self._parts) / self._listener.rate_hz

    def start(self) -> None:
        """Begin a new take."""
        self._parts.clear()
        self._leave = self._listener.subscribe(self._take)

    def stop(self) -> Samples:
        """End the take and give it, mono."""
        if self._leave is not None:
            self._leave()
            self._leave = None
        return np.concatenate(self._parts) if self._parts else np.zeros(0, np.float32)

    def _take(self, hearing: Hearing) -> None:
        if self.length_s < MOST_TAKE_S:
            self._parts.append(hearing.samples)
