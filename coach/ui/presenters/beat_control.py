"""Putting the beat right by ear: it clicks along with the recording, is tapped, or moved beat by beat."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from fractions import Fraction

from coach.errors import InputError
from coach.music import BeatGrid, Meter
from coach.pieces.beat_marks import BeatMarks
from coach.sessions.player_port import LoopPart, LoopPlayer, PlayerState
from coach.sessions.ports import Samples
from coach.ui.presenters.beat_view import (
    BARS_SHOWN,
    BeatMode,
    BeatView,
    chosen_words,
    close_up,
    heard_sentence,
    reading_words,
    tiles_from,
)
from coach.ui.presenters.beat_work import BeatWork
from coach.ui.presenters.device_watch import NO_SOUND, DeviceWatch

FEWEST_TAPS = 8
SLOW = 0.5
LEAD_S = 0.4
"""A loop begins this long before its first beat, so that the click is heard coming."""
_SOUNDING = frozenset({PlayerState.PLAYING, PlayerState.PREPARING, PlayerState.LOST})


class BeatControl:
    """The beat of one recording, as it is heard and changed.

    Parameters
    ----------
    player
        Gives the player, ``None`` where nothing can sound.
    mono, rate_hz
        The recording, for its shape.
    marks
        The beats to begin with; ``None`` where none were found: they have to be tapped.
    found_s
        Beats that were heard in the recording: taps near them mean them.
    ones
        By beats in a bar: which beat is likely ONE, as long as the player has said nothing else.
    meter, pickup
        As they are, or are likely; ``pickup`` in quarters.
    volume_db
        How loud at most.
    """

    def __init__(
        self,
        player: Callable[[], LoopPlayer | None],
        mono: Samples,
        rate_hz: int,
        marks: BeatMarks | None,
        *,
        meter: str = "4/4",
        pickup: Fraction = Fraction(0),
        found_s: tuple[float, ...] = (),
        ones: Mapping[int, int] | None = None,
        volume_db: float = 0.0,
    ) -> None:
        self._player, self._mono, self._rate_hz = player, mono, rate_hz
        self._found_s, self._volume_db = found_s, min(0.0, volume_db)
        self._meter, self.pickup = Meter.parse(meter), pickup
        self._ones = ones or {}
        self._first, self._first_ones, self._tapped = marks, self._ones, False
        self._slow = False
        self._taps_s: list[float] = []
        self.work = BeatWork(marks) if marks is not None else None
        self.mode = BeatMode.HEAR if marks is not None else BeatMode.TAP
        self._watch = DeviceWatch(player)
        self._likely_one()

    @property
    def duration_s(self) -> float:
        """Length of the recording."""
        return len(self._mono) / self._rate_hz

    @property
    def meter(self) -> Meter:
        """As the player says it is."""
        return self._meter

    @property
    def upbeat(self) -> bool:
        """Whether the tune begins before the ONE."""
        return self.pickup > 0

    @property
    def changed(self) -> bool:
        """Whether any beat is different from the beginning."""
        return self.work is not None and (self._tapped or self.work.changed)

    @property
    def grid(self) -> BeatGrid:
        """The grid as it stands; ``InputError`` where no beat is known yet."""
        return self._known.marks.grid(self._meter, self.pickup)

    @property
    def _known(self) -> BeatWork:
        if self.work is None:
            raise InputError("The beat is not known yet: tap it first.")
        return self.work

    # --- what the screen asks for -------------------------------------------------------------------------

    def set_meter(self, meter: str) -> None:
        """How many beats a bar has."""
        self._meter = Meter.parse(meter)
        self.pickup = min(self.pickup, self._meter.beat)
        self._likely_one()
        self._sound_on()

    def set_upbeat(self, upbeat: str) -> None:
        """Whether the tune begins one beat before the ONE: ``yes`` or ``no``."""
        self.pickup = self._meter.beat if upbeat == "yes" else Fraction(0)

    def change(self, change: Callable[[BeatWork], None]) -> None:
        """Change the beats; what sounds goes on with the click where it is now."""
        change(self._known)
        self._sound_on()

    def look_at(self, bar: int) -> None:
        """Look at the beats of one bar from near."""
        work = self._known
        self.mode = BeatMode.MOVE
        work.choose(max(0, work.first_of(bar, self._meter)))
        self._sound_on()

    def turn(self, bars: int) -> None:
        """Look at a bar so many bars later."""
        work = self._known
        work.step(bars * self._meter.beats)
        self._sound_on()

    def begin_later(self, bars: int) -> None:
        """The piece begins so many bars later (or earlier): the ONE moves by whole bars."""
        self.change(lambda work: work.one_by(bars * self._meter.beats))

    def hear(self) -> None:
        """Back to hearing the whole with its click."""
        self.mode = BeatMode.HEAR if self.work is not None else BeatMode.TAP
        self._sound_on()

    def hear_first(self) -> None:
        """Back to the beat as it was before any tap, with its own ONE; nothing where there was none."""
        if self._tapped and self._first is not None:
            self.work, self._ones, self._tapped = BeatWork(self._first), self._first_ones, False
            self._likely_one()
        self.hear()

    def tap_anew(self) -> None:
        """Tap the beat, from the first tap on."""
        self.mode = BeatMode.TAP
        self._taps_s.clear()
        self.stop()

    def slower(self) -> None:
        """Hear a bar slowly, or as it is."""
        self._slow = not self._slow
        self._sound_on()

    def tap(self) -> None:
        """A beat was tapped, the first one on ONE.

        Raises
        ------
        InputError
            If nothing sounds that could be tapped along with.
        """
        player = self._player()
        at_s = player.position_s if player is not None else None
        if at_s is None:
            raise InputError("Start the music first, then tap along.")
        if self._taps_s and at_s < self._taps_s[-1]:
            self._taps_s.clear()  # the music began again
        self._taps_s.append(at_s)

    @property
    def tapped_enough(self) -> bool:
        """Whether a beat can be made of the taps."""
        return len(self._taps_s) >= FEWEST_TAPS

    def take_taps(self) -> None:
        """Make the beat of the taps, and let it click along.

        Raises
        ------
        InputError
            If the taps are too uneven; they are forgotten then.
        """
        taps = tuple(self._taps_s)
        self._taps_s.clear()
        marks = BeatMarks.tapped(taps, self.duration_s, self._found_s)
        self._ones = {}  # the first tap has said which is ONE
        self.work, self.mode, self._tapped = BeatWork(marks), BeatMode.HEAR, True
        self.stop()
        self.play()

    def _likely_one(self) -> None:
        one = self._ones.get(self._meter.beats)
        if self.work is not None and one is not None:
            self.work.begin_at(one)

    # --- sound --------------------------------------------------------------------------------------------

    @property
    def playing(self) -> bool:
        """Whether the recording sounds, or will in a moment."""
        player = self._player()
        return player is not None and player.state in _SOUNDING

    @property
    def position_s(self) -> float | None:
        """Where it sounds now."""
        player = self._player()
        return player.position_s if player is not None else None

    def device_words(self) -> str | None:
        """What there is to say of a loudspeaker that went away or came back; ``None``: nothing new."""
        return self._watch.words()

    def play_or_stop(self) -> None:
        """Hear it, or be quiet."""
        if self.playing:
            self.stop()
        else:
            if self.mode is BeatMode.TAP:
                self._taps_s.clear()
            self.play()

    def play(self) -> None:
        """Hear the recording with a click on its beats; while it is tapped, without one.

        Raises
        ------
        InputError
            If there is nothing to hear it with.
        DeviceError
            If the loudspeaker cannot be opened.
        """
        player = self._player()
        if player is None:
            raise InputError(NO_SOUND)
        player.set_volume(self._volume_db)
        player.play(self._part())

    def stop(self) -> None:
        """Fade out."""
        player = self._player()
        if player is not None:
            player.stop()

    def _sound_on(self) -> None:
        if self.playing:
            self.play()

    def _part(self) -> LoopPart:
        work = self.work
        if self.mode is BeatMode.TAP or work is None:
            return LoopPart(0.0, self.duration_s)
        near = self.mode is BeatMode.MOVE
        bar = work.bar_of(work.chosen, self._meter) if near else 1
        from_s, to_s = work.bar_span(bar, self._meter, bars=2 if near else BARS_SHOWN)
        lead_s = LEAD_S if near or not self.upbeat else 60.0 / work.marks.tempo_bpm + LEAD_S
        from_s, to_s = max(0.0, from_s - lead_s), min(to_s, self.duration_s)
        times, beats = work.marks.seconds, self._meter.beats
        return LoopPart(
            min(from_s, to_s - 0.1),
            to_s,
            SLOW if near and self._slow else 1.0,
            clicks_s=tuple(at for at in times if from_s <= at < to_s),
            accents_s=tuple(at for at in times[work.marks.one % beats :: beats] if from_s <= at < to_s),
        )

    # --- the view -----------------------------------------------------------------------------------------

    @property
    def sentence(self) -> str:
        """What to do, in a sentence."""
        match self.mode:
            case BeatMode.HEAR:
                return heard_sentence(self._known, self._meter, tapped=self._tapped)
            case BeatMode.MOVE:
                return "Choose a beat, and move it until its click falls right."
            case BeatMode.TAP:
                return "Listen, then tap every beat along with the music. Your first tap is the ONE."

    def view(self) -> BeatView:
        """How things stand."""
        work, meter = self.work, self._meter
        base = BeatView(
            self.mode,
            known=work is not None,
            heard=self._first is not None,
            meter=str(meter),
            upbeat=self.upbeat,
            taps=len(self._taps_s),
            playing=self.playing,
            slow=self._slow,
        )
        return base if work is None or self.mode is BeatMode.TAP else self._with_beats(base, work)

    def _with_beats(self, base: BeatView, work: BeatWork) -> BeatView:
        near, meter = self.mode is BeatMode.MOVE, self._meter
        bar = work.bar_of(work.chosen, meter)
        page = 1 + (bar - 1) // BARS_SHOWN * BARS_SHOWN if near else 1
        tiles, edges = tiles_from(work, meter, page, self._mono, self._rate_hz)
        numbers = [tile.number if tile.number > 0 else tile.number + 1 for tile in tiles]
        return replace(
            base,
            readings=tuple((str(times), reading_words(times, bpm)) for times, bpm in work.readings),
            reading=str(work.reading),
            tiles=tiles,
            tiles_s=edges,
            bar_index=numbers.index(bar) if near and bar in numbers else None,
            close=close_up(work, meter, self._mono, self._rate_hz) if near else None,
            words=chosen_words(work, meter) if near else "",
            goes_on=work.first_of(1 + BARS_SHOWN, meter) < len(work.marks.seconds) - meter.beats,
            can_undo=work.can_undo,
            can_redo=work.can_redo,
        )
