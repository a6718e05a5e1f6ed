"""The `LoopPlayer` port: quick at once, the best when it is ready."""

import threading
from collections import OrderedDict
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from coach.audio.mixer import FADE_IN_S, Source, Voice
from coach.audio.player.apart import notes_on_the_right
from coach.audio.player.body import Body
from coach.audio.player.frozen import FrozenSource, moment_around
from coach.audio.player.loop_source import LoopSource
from coach.audio.player.plan import LoopPlan, cut_section, plan_loop
from coach.audio.player.render import cache_key, pack, render_piece, unpack
from coach.sessions.player_port import LoopPart, PlayerState
from coach.sessions.ports import AnalysisCache, AudioOutput, Emphasis, Samples, StreamState, Stretcher
from coach.tones.rendering import click

KEPT_FRAMES = 12_000_000
"""Passes kept in memory, all together: four minutes of sound (96 MB)."""

CHANGE_FADE_S = 0.025
"""Cross-fade from one speed to another, and into and out of a held moment."""

START_FADE_S = 0.3
"""A recording starts quietly: nobody is startled by one that is louder than expected."""

_REST_S = 0.02
_CLICK_GAIN = 0.5


class PullOutput(AudioOutput, Protocol):
    """An output that also plays what is made as it is played."""

    def play_source(
        self,
        source: Source,
        *,
        gain_db: float = 0.0,
        loop_s: float | None = None,
        fade_in_s: float | None = None,
    ) -> Voice:
        """Begin a sound."""
        ...


class SectionPlayer:
    """Loops parts of one recording.

    Parameters
    ----------
    output
        Opened when first needed.
    stretcher
        Renders.
    cache
        Keeps best renderings on disk.
    threaded
        Whether a thread renders; without it the caller does, by `work`.
    """

    def __init__(
        self, output: PullOutput, stretcher: Stretcher, cache: AnalysisCache, *, threaded: bool = True
    ) -> None:
        self._output, self._stretcher, self._cache = output, stretcher, cache
        self._threaded = threaded
        self._stereo = np.zeros((0, 2), np.float32)
        self._rate_hz, self._name = 48_000, ""
        self._gain_db = 0.0
        self._cuts: dict[tuple[float, float, bool], tuple[int, ...]] = {}
        self._gains: dict[tuple[float, float, Emphasis], float] = {}
        self._kept: OrderedDict[str, Body] = OrderedDict()
        self._lock = threading.RLock()
        self._closing = threading.Event()
        self._thread: threading.Thread | None = None
        self._forget()

    def _forget(self) -> None:
        self._part: LoopPart | None = None
        self._wanted: _Wanted | None = None
        self._source: LoopSource | None = None
        self._voice: Voice | None = None
        self._frozen: Voice | None = None
        self._held_at = 0

    @property
    def state(self) -> PlayerState:
        """What it is doing."""
        with self._lock:
            if self._wanted is None:
                return PlayerState.STOPPED
            if self._output.state is StreamState.LOST:
                return PlayerState.LOST
            if self._frozen is not None:
                return PlayerState.HOLDING
            return PlayerState.PREPARING if self._voice is None else PlayerState.PLAYING

    @property
    def position_s(self) -> float | None:
        """Place in the recording that is heard now."""
        with self._lock:
            frame = self._frame()
            return self._source.body.plan.place_s(frame) if self._source and frame is not None else None

    @property
    def best(self) -> bool:
        """Whether the finer rendering is heard already."""
        with self._lock:
            best = self._wanted.best if self._wanted is not None else None
            return self._source is not None and self._source.body is best

    def load(self, stereo: Samples, rate_hz: int, name: str) -> None:
        """Take a recording."""
        self.stop()
        with self._lock:
            self._cuts.clear()
            self._gains.clear()
            self._stereo, self._rate_hz, self._name = stereo, rate_hz, name

    def play(self, part: LoopPart) -> None:
        """Loop a part, from where it is now if that lies within."""
        self._output.open()
        with self._lock:
            if self._wanted is not None and self._wanted.part == part:
                self.release()
                return
            plan = self._plan(part)
            key = cache_key(self._name, plan)
            best = self._kept.get(key) or self._from_cache(key, Body(plan))
            self._wanted = _Wanted(key, part, quick=Body(plan), best=best)
            if part.plain and not best.whole:
                # Nothing is stretched: the first piece takes no time worth a wait.
                render_piece(self._stereo, best, self._next_piece(best), self._stretcher, best=True)
            self._begin_if_ready()
        if self._threaded and self._thread is None:
            self._closing.clear()
            self._thread = threading.Thread(target=self._run, name="section-player", daemon=True)
            self._thread.start()

    def hold(self) -> None:
        """Let the moment that is heard now sound on."""
        with self._lock:
            frame = self._frame()
            if self._voice is None or self._source is None or self._frozen is not None or frame is None:
                return
            self._held_at = frame
            moment = moment_around(self._source.body.sound, frame, self._output.rate_hz)
            self._voice.stop()
            self._frozen = self._output.play_source(
                FrozenSource(moment, self._output.rate_hz), gain_db=self._gain_db, fade_in_s=CHANGE_FADE_S
            )

    def release(self) -> None:
        """Go on where it was held."""
        with self._lock:
            if self._frozen is not None and self._source is not None:
                self._frozen.stop()
                self._frozen = None
                self._start(self._source.body, self._held_at, self._source.clicks)

    def stop(self) -> None:
        """Fade out."""
        with self._lock:
            for voice in (self._voice, self._frozen):
                if voice is not None:
                    voice.stop()
            self._forget()

    def set_volume(self, gain_db: float) -> None:
        """How loud, at most 0 dB."""
        with self._lock:
            self._gain_db = min(gain_db, 0.0)
            for voice in (self._voice, self._frozen):
                if voice is not None:
                    voice.set_gain(self._gain_db)

    def close(self) -> None:
        """Stop, and end the rendering thread."""
        self.stop()
        self._closing.set()
        if self._thread is not None:
            self._thread.join()
            self._thread = None

    def work(self) -> bool:
        """Render the next piece that is wanted; ``False`` if there was none."""
        with self._lock:
            wanted = self._wanted
            stereo = self._stereo
            if wanted is None or wanted.best.whole:
                return False
            body = wanted.best if wanted.part.plain or wanted.quick.whole else wanted.quick
            number = self._next_piece(body)
        gain = self._gain_of(stereo, body.plan)
        render_piece(stereo, body, number, self._stretcher, best=body is wanted.best, gain=gain)
        if wanted.best.whole and not wanted.part.plain:
            self._cache.put(wanted.key, pack(wanted.best))
        with self._lock:
            if self._wanted is wanted:
                self._begin_if_ready()
        return True

    def _run(self) -> None:
        while not self._closing.is_set():
            if not self.work():
                self._closing.wait(_REST_S)

    def _plan(self, part: LoopPart) -> LoopPlan:
        """The part's pieces; a section is cut once, whatever its speeds."""
        span = (part.from_s, part.to_s, part.plain)
        if span not in self._cuts:
            self._cuts[span] = cut_section(self._stereo, self._rate_hz, part)
        return plan_loop(self._cuts[span], self._rate_hz, part, self._output.rate_hz)

    def _gain_of(self, stereo: Samples, plan: LoopPlan) -> float:
        """One gain for all pieces of a section: each measured by itself would make steps between them."""
        part = plan.part
        key = (part.from_s, part.to_s, part.emphasis)
        gain = self._gains.get(key)
        if gain is None:
            section = stereo[plan.pieces[0].first : plan.pieces[-1].last]
            gain = self._gains[key] = self._stretcher.gain_of(section, plan.rate_hz, part.emphasis)
        return gain

    def _frame(self) -> int | None:
        """Frame of the pass that is heard now."""
        if self._frozen is not None:
            return self._held_at
        if self._voice is None or self._source is None:
            return None
        heard_s = max(0.0, self._voice.position_s - self._output.latency_s)
        return self._source.frame_after(round(heard_s * self._output.rate_hz))

    def _start_frame(self, body: Body) -> int:
        """Where the wanted pass begins: at the place that is heard now, if it has it."""
        place_s = self.position_s
        part = body.plan.part
        if place_s is None or not part.from_s <= place_s < part.to_s:
            return 0
        return min(body.plan.frame_at(place_s), body.plan.length - 1)

    def _next_piece(self, body: Body) -> int:
        """The piece that is missing soonest from where the loop is."""
        count = len(body.plan.pieces)
        now = body.piece_at(self._start_frame(body))
        return next(number % count for number in range(now, now + count) if not body.is_ready(number % count))

    def _begin_if_ready(self) -> None:
        """Start, change to or refine the sound as far as the wanted rendering has come."""
        wanted = self._wanted
        if wanted is None:
            return
        if wanted.best.whole and not wanted.part.plain:
            self._keep(wanted.key, wanted.best)
        if self._part is wanted.part:
            if wanted.best.whole and self._source is not None and self._source.body is not wanted.best:
                self._source.swap(wanted.best)
            return
        body = wanted.best if wanted.best.whole or wanted.part.plain else wanted.quick
        frame = self._start_frame(body)
        if not body.ready_from(frame):
            return
        fresh = self._voice is None
        for voice in (self._voice, self._frozen):
            if voice is not None:
                voice.stop()
        self._frozen = None
        self._part = wanted.part
        self._start(body, frame, self._clicks(wanted.part, body.plan), fresh=fresh)

    def _start(
        self, body: Body, frame: int, clicks: tuple[tuple[int, Samples], ...], *, fresh: bool = False
    ) -> None:
        part = self._part  # a kept body may be of a part with other clicks
        beats_s = part.count_in_s if part is not None and fresh else ()
        apart = part is not None and part.beside is not None
        lead = round(sum(beats_s) * body.plan.out_hz)
        self._source = LoopSource(body, frame, clicks, lead, apart=apart)
        fade_in_s = FADE_IN_S if beats_s else START_FADE_S if fresh else CHANGE_FADE_S
        self._voice = self._output.play_source(self._source, gain_db=self._gain_db, fade_in_s=fade_in_s)

    @staticmethod
    def _clicks(part: LoopPart, plan: LoopPlan) -> tuple[tuple[int, Samples], ...]:
        sounds = {accent: _click_sound(plan.out_hz, accent=accent) for accent in (False, True)}
        frames = [(plan.frame_at(at_s), at_s in part.accents_s) for at_s in part.clicks_s]
        lead = round(sum(part.count_in_s) * plan.out_hz)
        frames += [
            (round(sum(part.count_in_s[:number]) * plan.out_hz) - lead, number == 0)
            for number in range(len(part.count_in_s))
        ]
        clicks = [(frame, sounds[accent]) for frame, accent in frames if frame < plan.length]
        return (*clicks, *notes_on_the_right(part, plan))

    def _from_cache(self, key: str, empty: Body) -> Body:
        data = None if empty.plan.part.plain else self._cache.get(key)
        if data is not None:
            unpack(data, empty)
        return empty

    def _keep(self, key: str, body: Body) -> None:
        self._kept[key] = body
        self._kept.move_to_end(key)
        while len(self._kept) > 1 and sum(each.plan.length for each in self._kept.values()) > KEPT_FRAMES:
            self._kept.popitem(last=False)


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What shall be heard, and its renderings."""

    key: str
    part: LoopPart
    quick: Body
    best: Body


def _click_sound(rate_hz: int, *, accent: bool) -> Samples:
    mono = click(rate_hz, accent=accent) * np.float32(_CLICK_GAIN)
    return np.repeat(mono[:, None], 2, axis=1)
