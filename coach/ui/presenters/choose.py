"""Choosing a piece, in four short screens: the recording, the first listen, the beat, the sections."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

from typing_extensions import override

from coach.errors import CancelledError, CoachError, ScopeError
from coach.music import Meter
from coach.pieces.sections import BarRange, check_lengths, marked
from coach.practice.events import PieceTakenUp
from coach.practice.piece_state import PieceState
from coach.sessions.piece.beat_desk import BeatDesk
from coach.sessions.piece.bringing_in import choices, import_recording, take_bundled
from coach.sessions.piece.material import grid_of
from coach.sessions.piece.phrases import Phrases, phrases_of
from coach.sessions.player_port import LoopPart, PlayerState
from coach.sessions.ports import Jobs, UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.sessions.survey import Survey, survey
from coach.ui.context import Go
from coach.ui.presenters.choose_view import (
    ADVICE_WORDS,
    FEWEST_TAPS,
    METERS,
    ChooseView,
    Decision,
    facts_of,
    found_words,
    laid_aside,
    section_words,
)
from coach.ui.presenters.drawn import Loop, Tile
from coach.ui.presenters.handed_in import TEACHERS_FILES, path_of
from coach.ui.presenters.jobs import Job, JobRunner
from coach.ui.presenters.piece_view import tiles_between
from coach.ui.presenters.presenter import Presenter
from coach.ui.presenters.view import Empty, Failed, Ready, Working


class ChoosePresenter(Presenter[ChooseView]):
    """Leads through the decisions; each is kept as soon as it is made."""

    def __init__(
        self, room: PracticeRoom, later: UiCalls, jobs: JobRunner, go: Go, file: str | None = None
    ) -> None:
        super().__init__(later, Empty("Reading what there is to choose from."))
        self._room, self._jobs, self._go = room, jobs, go
        self._file, self._looked_in = file, ""
        self._job: Job | None = None
        self._heard: Survey | None = None
        self._taps_s: list[float] = []
        self._meter, self._upbeat = "4/4", False
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
            else:
                self._listen()
        except CoachError as error:
            self._show(Failed("The pieces could not be read.", error.message))

    @override
    def closed(self) -> None:
        self.cancel()
        self._stop()

    @override
    def cancel(self) -> None:
        if self._job is not None:
            self._job.cancel()

    def _offer(self) -> None:
        offered = choices(self._room.services)
        aside = tuple(laid_aside(piece) for piece in self._room.journal.progress.laid_aside)
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
        room.recording(jobs)  # the workbench will want it, too
        return survey(room.services, room.recording_path(), jobs)

    def _listened(self, heard: Survey) -> None:
        self._heard = heard
        if heard.meter in METERS:
            self._meter = heard.meter
        sentence = f"My advice: {ADVICE_WORDS[heard.advice]}. You decide."
        facts = (*heard.reasons, *facts_of(heard))
        self._show(Ready(ChooseView(Decision.LISTEN, sentence, "Find the beat", facts=facts)))

    def _not_heard(self, error: CoachError) -> None:
        if isinstance(error, CancelledError):
            self._go("piece")
        else:
            self._show(Failed("The recording could not be heard.", error.message))

    # --- the beat -----------------------------------------------------------------------------------------

    def set_meter(self, meter: str) -> None:
        """How many beats a bar has."""
        self._meter = meter
        self._beat()

    def set_upbeat(self, upbeat: str) -> None:
        """Whether the tune begins one beat before the first ONE."""
        self._upbeat = upbeat == "yes"
        self._beat()

    def tap(self) -> None:
        """A beat was tapped, the first one on ONE."""
        player = self._room.player()
        at_s = player.position_s if player is not None else None
        if at_s is None:
            self._said = "Start the music first, then tap along."
        else:
            if self._taps_s and at_s < self._taps_s[-1]:
                self._taps_s.clear()  # the music began again
            self._taps_s.append(at_s)
            self._said = ""
        self._beat()

    def take_found_beat(self) -> None:
        """Take the beat that the first listen found, by its own beats and first bar."""
        heard = self._heard
        if heard is None or len(heard.beats_s) < FEWEST_TAPS:
            return
        self._taps_s = list(heard.beats_s)
        one_s = heard.bars_s[0] if heard.bars_s else heard.beats_s[0]
        self._set_beat(one_s)

    def tap_again(self) -> None:
        """Forget the taps."""
        self._taps_s.clear()
        self._beat()

    def play_or_stop(self) -> None:
        """Hear the recording."""
        if self._playing:
            self._stop()
        else:
            self._taps_s.clear()
            self._play()
        self._beat()

    def _beat(self) -> None:
        enough = len(self._taps_s) >= FEWEST_TAPS
        sentence = "Listen, then tap every beat along with the music. Your first tap is the ONE."
        self._show(
            Ready(
                ChooseView(
                    Decision.BEAT,
                    sentence,
                    "Tap" if self._playing else "That is the beat" if enough else "Listen",
                    meter=self._meter,
                    upbeat=self._upbeat,
                    taps=len(self._taps_s),
                    playing=self._playing,
                    found=found_words(self._heard),
                    said=self._said,
                )
            )
        )

    def _set_beat(self, one_s: float | None = None) -> None:
        meter = Meter.parse(self._meter)
        pickup = meter.beat if self._upbeat else Fraction(0)
        duration_s = self._heard.duration_s if self._heard else None
        try:
            BeatDesk(self._room.journal).tap(
                self._taps_s, one_s or self._taps_s[0], meter, pickup=pickup, duration_s=duration_s
            )
        except CoachError as error:
            self._said = error.message
            self._taps_s.clear()
            self._beat()
            return
        self._stop()
        self._find_phrases()

    # --- which bars, in which sections --------------------------------------------------------------------

    def _find_phrases(self) -> None:
        self._show(Working("Listening for phrases", None))
        self._job = self._jobs.start(
            self._phrases_heard, done=self._propose, failed=self._not_heard, progress=self._working
        )

    def _phrases_heard(self, jobs: Jobs) -> tuple[Phrases, tuple[Tile, ...]]:
        piece = self._piece()
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
        piece, limits = self._piece(), BeatDesk(self._room.journal).limits
        taken = self._ranges[-1].last
        offered = sorted({n for n in (4, 8, 12, 16, 24, 32) if n <= len(self._tiles)} | {taken})
        tempo = grid_of(piece).tempo_bpm
        sentence = (
            f"{tempo:.0f} quarter notes a minute. {limits.words} Two taps make a section of other bars."
        )
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
                )
            )
        )

    def _named_tiles(self) -> tuple[Tile, ...]:
        names = {part.first: part.name for part in self._ranges}
        return tuple(
            replace(tile, section=names.get(number, "")) for number, tile in enumerate(self._tiles, 1)
        )

    def _piece(self) -> PieceState:
        piece = self._room.journal.progress.piece
        if piece is None:
            raise ScopeError("No piece is in hand: choose one first.")
        return piece

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
            case Ready(ChooseView(decision=Decision.LISTEN)):
                self._beat()
            case Ready(ChooseView(decision=Decision.BEAT)):
                self._act_on_beat()
            case Ready(ChooseView(decision=Decision.BARS)):
                self._cut()
            case Failed():
                self.opened()
            case _:
                pass

    def _act_on_beat(self) -> None:
        if len(self._taps_s) >= FEWEST_TAPS and not self._playing:
            self._set_beat()
        elif self._playing:
            self.tap()
        else:
            self.play_or_stop()

    @property
    def _playing(self) -> bool:
        player = self._room.player()
        return player is not None and player.state in {PlayerState.PLAYING, PlayerState.PREPARING}

    def _play(self) -> None:
        player = self._room.player()
        if player is None or self._heard is None:
            self._said = "There is no loudspeaker: look at “coach doctor”."
            return
        try:
            player.play(LoopPart(0.0, self._heard.duration_s))
        except CoachError as error:
            self._said = error.message

    def _stop(self) -> None:
        player = self._room.player()
        if player is not None:
            player.stop()

    def _working(self, share: float, what: str) -> None:
        self._show(Working(what, share))
