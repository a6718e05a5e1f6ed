"""Play: the sheet, still and unmarked while playing, with click and count-in; and the one whole take."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from typing_extensions import override

from coach.errors import CoachError, DeviceError
from coach.sessions.piece.neck_desk import Hand
from coach.sessions.piece.play_desk import Part, PlayDesk, TakeRecorder
from coach.sessions.ports import Jobs, Samples, Sound, UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.sheet.engrave import EngravedSheet
from coach.sheet.raster import page_pixels
from coach.ui.context import Go
from coach.ui.presenters.jobs import Job, JobRunner
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Failed, Ready, Working

PAGE_WIDTH = 1400
"""Pixels: sharp on a large tablet, and 8 MB a page."""
TEMPI = (40, 50, 60, 70, 80, 90)
PART_WORDS = {
    Part.THUMB: "Thumb alone",
    Part.MELODY: "Tune alone",
    Part.PINCHES: "Pinches alone",
    Part.BOTH: "Both lines",
}


@dataclass(frozen=True, slots=True)
class SheetPage:
    """One page of the sheet: RGBA bytes, row 0 at the top."""

    width: int
    height: int
    rgba: bytes


@dataclass(frozen=True, slots=True)
class PlayView:
    """A section, or the whole piece, to be played.

    Parameters
    ----------
    whole
        Whether it is the whole piece: then a take is recorded.
    take_s
        Length of the take that waits to be kept, ``None`` without one.
    """

    title: str
    sentence: str
    pages: tuple[SheetPage, ...]
    action: str
    second: str = ""
    part: Part = Part.BOTH
    tempo: int = 60
    playing: bool = False
    whole: bool = False
    take_s: float | None = None
    said: str = ""


class PlayPresenter(Presenter[PlayView]):
    """Plays a section with a click, or records the whole take."""

    def __init__(
        self, room: PracticeRoom, section: str | None, later: UiCalls, jobs: JobRunner, go: Go
    ) -> None:
        super().__init__(later, Working("Engraving the sheet", None))
        self._room, self._section, self._jobs, self._go = room, section, jobs, go
        hand = Hand.of(room.services.current_settings())
        self._desk = PlayDesk(room.services, room.journal, hand, section)
        self._pages: tuple[SheetPage, ...] = ()
        self._part, self._tempo = Part.BOTH, TEMPI[2]
        self._sound: Sound | None = None
        self._recorder: TakeRecorder | None = None
        self._take: tuple[Samples, int] | None = None
        self._said = ""
        self._job: Job | None = None

    @override
    def opened(self) -> None:
        piece = self._room.journal.progress.piece
        if piece is None:
            self._show(Empty("You have no piece in hand.", "Choose a piece"))
            return
        if self._section is None and not piece.all_good_enough:
            self._show(Empty("The whole take comes when every section is good enough.", "To the piece"))
            return
        self._job = self._jobs.start(
            self._engrave, done=self._engraved, failed=self._failed, progress=self._working
        )

    @override
    def closed(self) -> None:
        self.cancel()
        self._silence()
        if self._recorder is not None:
            self._recorder.stop()

    @override
    def cancel(self) -> None:
        if self._job is not None:
            self._job.cancel()

    def _engrave(self, _jobs: Jobs) -> tuple[SheetPage, ...]:
        sheet = self._desk.sheet()
        return tuple(_page(sheet, number) for number in range(sheet.page_count))

    def _engraved(self, pages: tuple[SheetPage, ...]) -> None:
        self._pages = pages
        self._refresh()

    @override
    def act(self) -> None:
        """Play, or stop; record the take, or keep it."""
        match self._view:
            case Empty():
                self._go("piece")
            case Failed():
                self.opened()
            case _:
                self._guarded(self._act_whole if self._section is None else self.play_or_stop)

    def _act_whole(self) -> None:
        if self._take is not None:
            self.keep()
        elif self._recorder is not None and self._recorder.recording:
            self._end_take()
        else:
            self._begin_take()

    def act_second(self) -> None:
        """Good enough for now, or once more."""
        if self._section is None:
            self._take = None
            self._refresh()
            return
        self._guarded(self._settle)

    def _settle(self) -> None:
        self._silence()
        self._desk.settle()
        piece = self._room.journal.progress.piece
        done = piece is not None and piece.all_good_enough
        self._go("finish" if done else "piece")

    def play_or_stop(self) -> None:
        """The click, and the line that the player does not play."""
        if self.playing:
            self._silence()
            self._refresh()
            return
        output = self._room.loudspeaker()
        if output is None:
            self._said = "There is no loudspeaker: play by the sheet, then go on."
        else:
            sound = self._desk.accompaniment(self._part, float(self._tempo), output.rate_hz)
            self._sound = output.play(sound, output.rate_hz)
        self._desk.played(self._part, float(self._tempo))
        self._refresh()

    def set_part(self, part: str) -> None:
        """What the player plays."""
        self._part = Part(part)
        self._refresh()

    def set_tempo(self, tempo: str) -> None:
        """Slower or faster."""
        self._tempo = int(tempo)
        self._refresh()

    def look_up(self) -> None:
        """Notice that the click has ended; the screen asks now and then."""
        if self._sound is not None and not self._sound.playing:
            self._sound = None
            self._refresh()

    # --- the take -----------------------------------------------------------------------------------------

    def _begin_take(self) -> None:
        try:
            studio = self._room.studio()
        except DeviceError as error:
            self._said = error.message
            self._refresh()
            return
        self._recorder = TakeRecorder(studio.listener)
        self._recorder.start()
        self._said = ""
        self._refresh()

    def _end_take(self) -> None:
        if self._recorder is not None:
            rate_hz = self._room.studio().listener.rate_hz
            self._take = (self._recorder.stop(), rate_hz)
        self._refresh()

    def keep(self) -> None:
        """Keep the take: the piece is done."""
        if self._take is not None:
            self._desk.keep(*self._take)
            self._take = None
            self._go("finish")

    # --- the view -----------------------------------------------------------------------------------------

    @property
    def playing(self) -> bool:
        """Whether the click sounds."""
        return self._sound is not None and self._sound.playing

    def _silence(self) -> None:
        if self._sound is not None:
            self._sound.stop()
            self._sound = None

    def _guarded(self, work: Callable[[], None]) -> None:
        try:
            work()
        except CoachError as error:
            self._said = error.message
            self._refresh()

    def _working(self, share: float, what: str) -> None:
        self._show(Working(what, share))

    def _failed(self, error: CoachError) -> None:
        self._show(Failed("The sheet could not be engraved.", error.message))

    def _refresh(self) -> None:
        self._show(Ready(self._whole_view() if self._section is None else self._section_view()))

    def _section_view(self) -> PlayView:
        return PlayView(
            title=f"Section {self._section}: play it",
            sentence="Thumb alone first, then the tune, then both. Rest your hand when it tires.",
            pages=self._pages,
            action="Stop" if self.playing else "Count in",
            second="Good enough for now",
            part=self._part,
            tempo=self._tempo,
            playing=self.playing,
            said=self._said,
        )

    def _whole_view(self) -> PlayView:
        recording = self._recorder is not None and self._recorder.recording
        take_s = len(self._take[0]) / self._take[1] if self._take is not None else None
        sentence = "Play the whole piece once, from the beginning to the end."
        action = "End the take" if recording else "Record the take"
        if take_s is not None:
            sentence = f"A take of {take_s:.0f} seconds. Keep it, or play once more."
            action = "Keep this take"
        return PlayView(
            title="The whole take",
            sentence=sentence,
            pages=self._pages,
            action=action,
            second="Once more" if take_s is not None else "",
            playing=recording,
            whole=True,
            take_s=take_s,
            said=self._said,
        )


def _page(sheet: EngravedSheet, number: int) -> SheetPage:
    grey = page_pixels(sheet, number, PAGE_WIDTH)
    rgba = np.repeat(grey[:, :, np.newaxis], 4, axis=2)
    rgba[:, :, 3] = 255
    return SheetPage(grey.shape[1], grey.shape[0], rgba.tobytes())
