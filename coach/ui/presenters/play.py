"""Play: the sheet, still and unmarked while playing, with click and count-in; and the one whole take.

With the click on a loudspeaker the ear is deaf. So who wants to be listened to is counted in and then plays
in silence; with headphones the click goes on.
"""

from collections.abc import Callable
from dataclasses import replace

from typing_extensions import override

from coach.errors import CoachError, DeviceError
from coach.pieces.played import PlayThrough
from coach.pieces.playthrough_words import summary
from coach.practice.piece_state import Cell
from coach.sessions.piece.material import grid_of
from coach.sessions.piece.neck_desk import Hand
from coach.sessions.piece.play_desk import Part, PlayDesk, TakeRecorder
from coach.sessions.ports import Jobs, Samples, Sound, UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.levels import ListenerLevel
from coach.ui.presenters.play_view import (
    FIRST_TEMPO,
    PART_WORDS,
    TEMPI,
    PlayView,
    SheetPage,
    Way,
    page_of,
    tempi_of,
)
from coach.ui.presenters.played import bars_of
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Failed, Ready, Working


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
        self._chosen: Part | None = None
        self._tempi: tuple[int, ...] = TEMPI
        self._beat = 1.0
        self._tempo, self._way = FIRST_TEMPO, Way.ALONG if section is not None else Way.LISTENED
        self._sound: Sound | None = None
        self._recorder: TakeRecorder | None = None
        self._take: tuple[Samples, int] | None = None
        self._graded: PlayThrough | None = None
        self._said = ""
        self.levels: ListenerLevel | None = None

    @override
    def opened(self) -> None:
        piece = self._room.journal.progress.piece
        if piece is None:
            self._show(Empty("You have no piece in hand.", "Choose a piece"))
            return
        if self._section is None and not piece.all_good_enough:
            self._show(Empty("The whole take comes when every section is good enough.", "To the piece"))
            return
        if piece.grid is not None:
            self._beat = float(piece.meter.beat)
            self._tempi = tempi_of(grid_of(piece).tempo_bpm / self._beat)
            first = FIRST_TEMPO / self._beat
            self._tempo = max((tempo for tempo in self._tempi if tempo <= first), default=self._tempi[0])
        self._job = self._jobs.start(
            self._engrave, done=self._engraved, failed=self._failed, progress=self._working
        )

    @override
    def closed(self) -> None:
        self.cancel()
        self._silence()
        if self._section is None and self._recorder is not None and self.recording:
            self._take = self._recorder.stop(), self._room.studio().listener.rate_hz
        elif self._recorder is not None:
            self._recorder.stop()
        if self._take is not None:
            self._room.put_by(self._held, *self._take)

    def _engrave(self, _jobs: Jobs) -> tuple[SheetPage, ...]:
        sheet = self._desk.sheet()
        return tuple(page_of(sheet, number, close=True) for number in range(sheet.page_count))

    def _engraved(self, pages: tuple[SheetPage, ...]) -> None:
        self._pages = pages
        if self._section is None:
            self._take = self._room.pick_up(self._held)
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
                self._guarded(self._act_whole if self._section is None else self._act_section)

    def _act_whole(self) -> None:
        if self._way is Way.ALONG:
            self.play_or_stop()
        elif self._take is not None:
            self.keep()
        elif self.recording:
            self._end_take()
        else:
            self._begin_take()

    def _act_section(self) -> None:
        if self._way is Way.ALONG:
            self.play_or_stop()
        elif self.recording:
            self._silence()
            self._end_take()
        else:
            if self._graded is not None and self._graded.hardest_bar is not None:
                self._tempo = max(
                    (tempo for tempo in self._tempi if tempo < self._tempo), default=self._tempi[0]
                )
            self._listen()

    def act_second(self) -> None:
        """Good enough for now, or once more."""
        if self._section is None:
            self._take = self._graded = None
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
        self._chosen = self._part  # it stays while it is played, whatever the log says of it from now on
        output = self._room.loudspeaker()
        if output is None:
            self._said = "There is no loudspeaker: play by the sheet, then go on."
        else:
            sound = self._desk.accompaniment(self._part, self._quarters_bpm, output.rate_hz)
            self._sound = output.play(sound, output.rate_hz)
        self._desk.played(self._part, self._quarters_bpm)
        self._refresh()

    def set_part(self, part: str) -> None:
        """What the player plays."""
        self._chosen = Part(part)
        self._refresh()

    def set_tempo(self, tempo: str) -> None:
        """Slower or faster."""
        self._tempo = int(tempo)
        self._graded = None
        self._refresh()

    def set_way(self, way: str) -> None:
        """Along with the click, or counted in and listened to."""
        self._way = Way(way)
        self._silence()
        if self._recorder is not None:
            self._recorder.stop()
        self._graded, self._said = None, ""
        self._refresh()

    def look_up(self) -> None:
        """Notice that the click has ended; the screen asks now and then."""
        if self._sound is not None and not self._sound.playing:
            self._sound = None
            self._refresh()

    # --- the take -----------------------------------------------------------------------------------------

    @property
    def _part(self) -> Part:
        """What the player chose; before that the thumb alone, as long as the section was never played."""
        if self._chosen is not None:
            return self._chosen
        piece = self._room.journal.progress.piece
        section = piece.section(self._section) if piece is not None and self._section else None
        new = section is not None and section.played is Cell.EMPTY and self._way is Way.ALONG
        return Part.THUMB if new else Part.BOTH

    @property
    def _quarters_bpm(self) -> float:
        """The tempo in quarters a minute; the page tells it in beats."""
        return self._tempo * self._beat

    @property
    def recording(self) -> bool:
        """Whether a take is being recorded."""
        return self._recorder is not None and self._recorder.recording

    @property
    def _held(self) -> str:
        """Under which words a take is put by when the screen is left before it is kept."""
        piece = self._room.journal.progress.piece
        return f"a take of {piece.piece if piece is not None else ''}"

    @property
    def _headphones(self) -> bool:
        return self._room.services.current_settings().headphones

    def _begin_take(self) -> bool:
        """Record from now on; false, and said, where there is no microphone."""
        self._take = self._graded = None
        self._said = ""
        try:
            studio = self._room.studio()
        except DeviceError as error:
            self._said = error.message
            self._refresh()
            return False
        self.levels = ListenerLevel(studio.listener)
        self._recorder = TakeRecorder(studio.listener)
        self._recorder.start()
        self._refresh()
        return True

    def _listen(self) -> None:
        """Count in, then silence (or the click in the headphones), and record what is played."""
        if not self._begin_take():
            return
        output, tempo = self._room.loudspeaker(), self._quarters_bpm
        if output is None:
            self._said = "There is no loudspeaker to count you in: begin when you like."
        elif self._headphones:
            sound = self._desk.accompaniment(self._part, tempo, output.rate_hz)
            self._sound = output.play(sound, output.rate_hz)
        else:
            self._sound = output.play(self._desk.count_in(tempo, output.rate_hz), output.rate_hz)
        self._refresh()

    def _end_take(self) -> None:
        """Stop recording and listen to what was played."""
        if self._recorder is None:
            return
        samples, rate_hz = self._recorder.stop(), self._room.studio().listener.rate_hz
        if self._section is None:
            self._take = (samples, rate_hz)
        clicked = self._section is not None and self._headphones and self._room.loudspeaker() is not None
        tempo = self._quarters_bpm if clicked else None
        part = self._part if self._section is not None else Part.BOTH
        self._show(Working("Listening to what you played", None, can_cancel=False))
        self._job = self._jobs.start(
            lambda _: self._desk.grade(samples, rate_hz, tempo, part=part),
            done=self._listened,
            failed=self._not_graded,
        )

    def _listened(self, played: PlayThrough) -> None:
        self._graded = played
        self._refresh()

    def _not_graded(self, error: CoachError) -> None:
        self._said = error.message
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
        sentence = "Thumb alone first, then the tune, then both. Rest your hand when it tires."
        action = "Stop" if self.playing else "Count in"
        if self.playing:
            sentence = f"{PART_WORDS[self._part]}: play along."
        if self._way is Way.LISTENED:
            sentence = "I count you in, then I am quiet and listen. Stop me when you have played."
            action = "Count in" if self._graded is None else "Once more"
            if self._graded is not None and self._graded.hardest_bar is not None:
                action = "Once more, slower"
            if self.recording:
                sentence, action = "I listen after the count-in.", "Stop and listen"
        return self._with_bars(
            PlayView(
                title=f"Section {self._section}: play it",
                sentence=sentence,
                pages=self._pages,
                action=action,
                second="Good enough for now",
                part=self._part,
                tempo=self._tempo,
                tempi=self._tempi,
                playing=self.playing,
                recording=self.recording,
                said=self._said,
                way=self._way,
            )
        )

    def _joined_view(self) -> PlayView:
        """The whole piece, its sections joined, to be practised before it is recorded."""
        playing = f"{PART_WORDS[self._part]}: play along."
        return PlayView(
            title="The whole piece",
            sentence=playing if self.playing else "Join the sections: slowly first, then up to tempo.",
            pages=self._pages,
            action="Stop" if self.playing else "Count in",
            part=self._part,
            tempo=self._tempo,
            tempi=self._tempi,
            playing=self.playing,
            whole=True,
            said=self._said,
            way=self._way,
        )

    def _whole_view(self) -> PlayView:
        if self._way is Way.ALONG:
            return self._joined_view()
        take_s = len(self._take[0]) / self._take[1] if self._take is not None else None
        sentence = "Play the whole piece once, from the beginning to the end."
        action = "Record the take"
        if self.recording:
            sentence, action = "I record: play it through.", "End the take"
        if take_s is not None:
            sentence = f"A take of {take_s:.0f} seconds. Keep it, or play once more."
            action = "Keep this take"
        return self._with_bars(
            PlayView(
                title="The whole take",
                sentence=sentence,
                pages=self._pages,
                action=action,
                second="Once more" if take_s is not None else "",
                recording=self.recording,
                whole=True,
                said=self._said,
                way=self._way,
            )
        )

    def _with_bars(self, view: PlayView) -> PlayView:
        """The view with what was heard, once a take was listened to."""
        played = self._graded
        if played is None or self.recording:
            return view
        lines = self._desk.arrangement
        return replace(view, heard=summary(played, lines.meter.beat), bars=bars_of(played, lines))
