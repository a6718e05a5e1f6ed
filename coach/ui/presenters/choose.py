"""Choosing a piece, in four short screens: the recording, the first listen, the beat, the sections."""

from collections.abc import Callable
from dataclasses import replace
from typing import assert_never

from typing_extensions import override

from coach.errors import CancelledError, CoachError
from coach.pieces.sections import BarRange, check_lengths, marked
from coach.practice.events import PieceSetAside, PieceTakenUp
from coach.sessions.piece.beat_desk import BeatDesk
from coach.sessions.piece.bringing_in import choices, import_recording, take_bundled
from coach.sessions.piece.material import grid_of
from coach.sessions.piece.phrases import Phrases, phrases_of
from coach.sessions.ports import Jobs, UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.sessions.survey import Survey, survey_of
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.beat_control import BeatControl
from coach.ui.presenters.beat_opening import beat_to_decide
from coach.ui.presenters.beat_view import BeatMode
from coach.ui.presenters.choose_view import (
    ADVICE_WORDS,
    WITHOUT_BEATS,
    ChooseView,
    Decision,
    facts_of,
    laid_aside,
    section_words,
)
from coach.ui.presenters.drawn import Loop, Tile
from coach.ui.presenters.handed_in import TEACHERS_FILES, path_of
from coach.ui.presenters.piece_standing import ANOTHER
from coach.ui.presenters.piece_view import tiles_between
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Failed, Ready, Working

ANOTHER_RECORDING = "Another recording"
NOT_SURE = "I am not sure which beat is ONE: listen for it."


class ChoosePresenter(Presenter[ChooseView]):
    """Leads through the decisions; each is kept as soon as it is made."""

    def __init__(
        self, room: PracticeRoom, later: UiCalls, jobs: JobRunner, go: Go, file: str | None = None
    ) -> None:
        super().__init__(later, Empty("Reading what there is to choose from."))
        self._room, self._jobs, self._go = room, jobs, go
        self._file, self._looked_in = file, ""
        self._heard: Survey | None = None
        self._beat: BeatControl | None = None
        self._phrases: Phrases | None = None
        self._tiles: tuple[Tile, ...] = ()
        self._ranges: tuple[BarRange, ...] = ()
        self._said = ""

    # --- opening ------------------------------------------------------------------------------------------

    @override
    def opened(self) -> None:
        try:
            piece = self._room.journal.progress.piece
            file, self._file = self._file, None
            if piece is None and file is not None:
                self.bring(file)
            elif piece is None:
                self._offer()
            elif piece.sections:
                self._go("piece")
            elif piece.grid is not None:
                self._find_phrases()  # the beat is decided
            else:
                self._listen()
        except CoachError as error:
            self._show(Failed("The pieces could not be read.", error.message))

    @override
    def closed(self) -> None:
        self.cancel()
        self._stop()

    def _offer(self) -> None:
        today = self._room.services.clock.today()
        laid = self._room.journal.progress.laid_aside
        aside, known = tuple(laid_aside(piece, today) for piece in laid), {piece.bundled for piece in laid}
        offered = tuple(each for each in choices(self._room.services) if each.id not in known)
        sentence = "Choose a recording: one that you like, with a tune that you can sing along."
        self._show(Ready(ChooseView(Decision.RECORDING, sentence, "", offered, aside=aside, said=self._said)))

    # --- the recording ------------------------------------------------------------------------------------

    def look_for_file(self) -> None:
        """Look for a file among the player's own."""
        self._go("files", want="recording", **({"folder": self._looked_in} if self._looked_in else {}))

    def record(self) -> None:
        """Record the piece through the microphone."""
        self._go("record")

    def take_up(self, piece: str) -> None:
        """Take a piece in hand again that was laid aside; all of it is still there."""
        try:
            self._room.journal.write(PieceTakenUp(piece))
        except CoachError as error:
            self._refused(error)
            return
        self.opened()

    def take(self, bundled_id: str) -> None:
        """Take a piece that came with the app."""
        room = self._room
        self._begin(lambda jobs: take_bundled(room.services, room.journal, bundled_id, jobs))

    def bring(self, path: str) -> None:
        """Bring in a file of the player's own; a teacher's pack or reply is opened in set-up."""
        file = path_of(path)
        self._looked_in = str(file.parent)
        if file.suffix.lower() in TEACHERS_FILES:
            self._go("setup", card="lessons", file=str(file))
            return
        room = self._room
        title = file.stem.replace("_", " ").strip() or "My piece"
        self._begin(lambda jobs: import_recording(room.services, room.journal, file, title=title, jobs=jobs))

    def _begin(self, work: Callable[[Jobs], str]) -> None:
        self._said = ""
        self._show(Working("Bringing the recording in", None))
        self._job = self._jobs.start(
            work, done=lambda _: self._listen(), failed=self._refused, progress=self._working
        )

    def _refused(self, error: CoachError) -> None:
        self._said = error.message
        self._offer()

    # --- the first listen ---------------------------------------------------------------------------------

    def _listen(self) -> None:
        self._show(Working("Listening to the recording", None))
        self._job = self._jobs.start(
            self._survey,
            done=self._listened,
            failed=self._not_heard,
            progress=self._working,
        )

    def _survey(self, jobs: Jobs) -> Survey:
        room = self._room
        return survey_of(room.services, room.recording(jobs), jobs)  # the workbench will want it, too

    def _listened(self, heard: Survey) -> None:
        self._heard = heard
        sentence = f"My advice: {ADVICE_WORDS[heard.advice]}. You decide."
        facts = (*heard.reasons, *facts_of(heard))
        said = heard.lost or ""
        view = ChooseView(
            Decision.LISTEN, sentence, "Hear its beat", facts=facts, said=said, second=ANOTHER_RECORDING
        )
        self._show(Ready(view))

    def second(self) -> None:
        """From the advice to another recording; from the bars back to the beat."""
        match self._view:
            case Ready(ChooseView(decision=Decision.LISTEN)):
                self._lay_aside()
            case Ready(ChooseView(decision=Decision.BARS)):
                self._show(Working("Listening to the recording", None))
                self._job = self._jobs.start(
                    self._survey, done=self._open_beat, failed=self._not_heard, progress=self._working
                )
            case _:
                pass

    def _lay_aside(self) -> None:
        try:
            self._room.journal.write(PieceSetAside(self._room.journal.piece_in_hand.piece, ANOTHER))
        except CoachError as error:
            self._refused(error)
            return
        self._go("choose")  # anew: a file that this page was handed is not brought in once more

    def _not_heard(self, error: CoachError) -> None:
        if isinstance(error, CancelledError):
            self._go("piece")
        else:
            self._show(Failed("The recording could not be heard.", error.message))

    # --- the beat -----------------------------------------------------------------------------------------

    def _open_beat(self, heard: Survey) -> None:
        self._beat = beat_to_decide(self._room, self._room.journal.piece_in_hand, heard)
        self._said = "" if heard.bars_sure or self._beat.work is None else NOT_SURE
        try:
            if self._beat.work is not None:
                self._beat.play()
        except CoachError as error:
            self._said = error.message
        self._show_beat()

    def beat(self, change: Callable[[BeatControl], None]) -> None:
        """Do something about the beat, and show what came of it."""
        if self._beat is None:
            return
        self._said = ""
        try:
            change(self._beat)
        except CoachError as error:
            self._said = error.message
        self._show_beat()

    @property
    def position_s(self) -> float | None:
        """Where the recording sounds now, while its beat is put right."""
        return self._beat.position_s if self._beat is not None else None

    def look_up(self) -> None:
        """Notice that the loudspeaker is gone; the screen asks now and then."""
        words = self._beat.device_words() if self._beat is not None else None
        if words is not None:
            self._said = words
            self._show_beat()

    def _show_beat(self) -> None:
        beat = self._beat
        if beat is None:
            return
        match beat.mode:
            case BeatMode.HEAR:
                action = "That is the beat"
            case BeatMode.MOVE:
                action = "Hear the whole"
            case BeatMode.TAP:
                ready = "That is the beat" if beat.tapped_enough else "Listen"
                action = "Tap" if beat.playing else ready
            case other:
                assert_never(other)
        view = ChooseView(Decision.BEAT, beat.sentence, action, beat=beat.view(), said=self._said)
        self._show(Ready(view))

    def _act_on_beat(self, beat: BeatControl) -> None:
        match beat.mode:
            case BeatMode.HEAR:
                self._take_beat(beat)
            case BeatMode.MOVE:
                self.beat(BeatControl.hear)
            case BeatMode.TAP if beat.playing:
                self.beat(BeatControl.tap)
            case BeatMode.TAP if beat.tapped_enough:
                self.beat(BeatControl.take_taps)
            case BeatMode.TAP:
                self.beat(BeatControl.play_or_stop)

    def _take_beat(self, beat: BeatControl) -> None:
        try:
            BeatDesk(self._room.journal).set_grid(beat.grid, beat.meter, beat.pickup)
        except CoachError as error:
            self._said = error.message
            self._show_beat()
            return
        beat.stop()
        self._beat = None
        self._find_phrases()

    def without_beats(self) -> None:
        """The recording has no steady beat: its notes are kept by order, long and short."""
        if self._beat is not None:
            self._beat.stop()
        try:
            BeatDesk(self._room.journal).without_beats()
        except CoachError as error:
            self._said = error.message
            self._show_beat()
            return
        self._beat = None
        self._find_phrases()

    # --- which bars, in which sections --------------------------------------------------------------------

    def _find_phrases(self) -> None:
        self._show(Working("Listening for phrases", None))
        self._job = self._jobs.start(
            self._phrases_heard, done=self._propose, failed=self._not_heard, progress=self._working
        )

    def _phrases_heard(self, jobs: Jobs) -> tuple[Phrases, tuple[Tile, ...]]:
        piece = self._room.journal.piece_in_hand
        audio = self._room.recording(jobs).audio
        phrases = phrases_of(piece, audio, jobs)
        many = min(phrases.bar_count, BeatDesk(self._room.journal).limits.most_bars)
        onsets = [piece.pickup + piece.meter.bar * number for number in range(many + 1)]
        return phrases, tiles_between(piece, onsets, grid_of(piece), audio.mono, audio.rate_hz)

    def _propose(self, heard: tuple[Phrases, tuple[Tile, ...]]) -> None:
        self._phrases, self._tiles = heard
        self._ranges = BeatDesk(self._room.journal).proposed(self._phrases.bar_count, self._phrases.ends)
        self._said = ""
        self._offer_bars()

    def set_bars(self, bars: str) -> None:
        """How many bars the piece shall have; its sections are proposed anew."""
        if self._phrases is not None:
            self._ranges = BeatDesk.sections_of(int(bars), self._phrases.ends)
            self._said = ""
            self._offer_bars()

    def mark(self, loop: Loop) -> None:
        """Make a section of the bars between two tapped tiles; a single tap only begins."""
        if loop.last > loop.first and self._ranges:
            self._ranges = marked(self._ranges, loop.first + 1, loop.last + 1)
            self._said = check_lengths(self._ranges, most=len(self._tiles)) or ""
            self._offer_bars()

    def _offer_bars(self) -> None:
        piece, limits = self._room.journal.piece_in_hand, BeatDesk(self._room.journal).limits
        taken = self._ranges[-1].last
        offered = sorted({n for n in (4, 8, 12, 16, 24, 32) if n <= len(self._tiles)} | {taken})
        free = f"{WITHOUT_BEATS} " if piece.without_beats else ""
        sentence = f"{free}{limits.words} Two taps make a section of other bars."
        self._show(
            Ready(
                ChooseView(
                    Decision.BARS,
                    sentence,
                    "Take this piece in hand",
                    bars=tuple(offered),
                    chosen_bars=taken,
                    tiles=self._named_tiles(),
                    sections=tuple(section_words(part, upbeat=piece.pickup > 0) for part in self._ranges),
                    said=self._said,
                    second="Back to the beat",
                )
            )
        )

    def _named_tiles(self) -> tuple[Tile, ...]:
        names = {part.first: part.name for part in self._ranges}
        return tuple(
            replace(tile, section=names.get(number, "")) for number, tile in enumerate(self._tiles, 1)
        )

    def _cut(self) -> None:
        try:
            BeatDesk(self._room.journal).cut_at(self._ranges)
        except CoachError as error:
            self._said = error.message
            self._offer_bars()
            return
        self._go("piece")

    # --- the one action -----------------------------------------------------------------------------------

    @override
    def act(self) -> None:
        """Go on from the decision that is open."""
        match self._view:
            case Ready(ChooseView(decision=Decision.LISTEN)) if self._heard is not None:
                self._open_beat(self._heard)
            case Ready(ChooseView(decision=Decision.BEAT)) if self._beat is not None:
                self._act_on_beat(self._beat)
            case Ready(ChooseView(decision=Decision.BARS)):
                self._cut()
            case Failed():
                self.opened()
            case _:
                pass

    def _stop(self) -> None:
        player = self._room.player()
        if player is not None:
            player.stop()

    def _working(self, share: float, what: str) -> None:
        self._show(Working(what, share))
