"""The `Stretcher` port: slower or higher, with sharp attacks.

Rubber Band (inside pedalboard) keeps tones pure but smears plucks over its window. So the recording is cut
at its attacks: the first moment of each is copied as it is, the sound after it is stretched alone, up to the
next attack, which its window never sees. Nothing can then sound ahead of an attack.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pedalboard

from coach.audio.attacks import find_attacks, main_rise
from coach.audio.fades import rising
from coach.audio.filters import emphasis_gain, emphasised
from coach.audio.resample import fourier_resized
from coach.sessions.ports import Emphasis, Samples
from coach.sessions.ports.recordings import MOST_SHIFT_SEMITONES

ATTACK_S = 0.040
"""How much of an attack is copied; at most half of the sound up to the next one."""

JOIN_S = 0.012
"""Length of the cross-fade from the copied attack to the stretched sound."""

LEAD_S = 0.004
"""Length of the cross-fade into an attack, before it begins."""

GUARD_S = 0.005
"""What is left out before an attack: it may be found a little late, and codecs let it sound ahead."""

TAIL_S = 0.080
"""How much mirrored sound is put behind a piece, so that its end is no edge."""

SLIP_S = 0.006
"""How far the stretched sound may be moved so that it joins in phase: half a period of E2."""

_FEWEST = 64

MARGIN_S = 0.010
"""Context around an attack that is resampled, so that its ends do not meet."""

LOWEST_SPEED, HIGHEST_SPEED = 0.2, 4.0


class RubberStretcher:
    """Slows down, shifts and filters recorded sound by Rubber Band."""

    def render(
        self,
        stereo: Samples,
        rate_hz: int,
        *,
        speed: float = 1.0,
        shift_semitones: float = 0.0,
        emphasis: Emphasis = Emphasis.ALL,
        best: bool = True,
        gain: float | None = None,
    ) -> Samples:
        """Slowed, shifted, filtered copy.

        Parameters
        ----------
        stereo
            Shape (n, 2).
        rate_hz
            Samples a second.
        speed
            0.2 to 4; 0.5 takes twice as long.
        shift_semitones
            -24 to 24, fractions allowed; the length stays.
        emphasis
            What is made louder; the loudness of the whole stays.
        best
            ``False`` is about three times quicker, and rougher.
        gain
            Factor for what is emphasised; measured on this sound if ``None``.

        Returns
        -------
        Samples
            Shape (round(n / speed), 2); the very same samples at speed 1 without shift and emphasis.
        """
        if not LOWEST_SPEED <= speed <= HIGHEST_SPEED:
            raise ValueError(f"speed {speed} is not between {LOWEST_SPEED} and {HIGHEST_SPEED}")
        if abs(shift_semitones) > MOST_SHIFT_SEMITONES:
            raise ValueError(f"shift of {shift_semitones} semitones is more than {MOST_SHIFT_SEMITONES}")

        def moved(sound: Samples, semitones: float) -> Samples:
            if np.array_equal(sound[:, 0], sound[:, 1]):  # a mono recording: half the work
                return np.repeat(_moved(sound[:, :1], rate_hz, speed, semitones, best=best), 2, axis=1)
            return _moved(sound, rate_hz, speed, semitones, best=best)

        return emphasised(stereo, rate_hz, emphasis, shift_semitones, moved, gain)

    def gain_of(self, stereo: Samples, rate_hz: int, emphasis: Emphasis) -> float:
        """The factor that makes the emphasised sound as loud as the recording (ITU-R BS.1770-4)."""
        return emphasis_gain(stereo, rate_hz, emphasis)


def _moved(stereo: Samples, rate_hz: int, speed: float, semitones: float, *, best: bool) -> Samples:
    """Stretched and shifted, shape (round(n / speed), channels)."""
    count, channels = stereo.shape
    length = round(count / speed)
    if (speed == 1.0 and semitones == 0.0) or count == 0:
        return stereo.copy()
    move = _Move(rate_hz, semitones, best)
    cuts = [0, *(int(at) for at in find_attacks(stereo, rate_hz) if at > 0), count]
    places = _places(stereo, cuts, length, move)
    out = np.zeros((length, channels), np.float32)
    for number in range(len(cuts) - 1):
        first, last = cuts[number], cuts[number + 1]
        guard = 0 if last == count else min(round(GUARD_S * rate_hz), (last - first) // 4)
        begin, end = places[number], places[number + 1]
        if first == 0:
            out[:end] = move.sustained(stereo[:last], end, guard)
            continue
        room = (end - begin) // 2, int((last - first) / 2 / move.ratio)
        attack = min(round(ATTACK_S * rate_hz), *room)
        lead = min(round(LEAD_S * rate_hz), begin - places[number - 1], int(first / move.ratio))
        struck = move.copied(stereo, first, lead, attack)
        fade = rising(lead)
        out[begin - lead : begin] = out[begin - lead : begin] * (1.0 - fade) + struck[:lead] * fade
        out[begin:end] = move.joined(stereo[first:last], struck[lead:], end - begin, guard)
    return out


def _places(stereo: Samples, cuts: list[int], length: int, move: "_Move") -> list[int]:
    """Where the pieces begin: the main rise of each attack lies where it belongs.

    What stirs before it, such as the scrape of a pick, is copied and not slowed: the piece begins that much
    later, but at most a quarter of the way to its neighbours.
    """
    longer = length / stereo.shape[0]
    places = [round(cut * longer) for cut in cuts]
    moved = places.copy()
    for number in range(1, len(cuts) - 1):
        stir = main_rise(stereo, cuts[number], move.rate_hz) - cuts[number]
        earlier, here, later = places[number - 1 : number + 2]
        wanted = here + round(stir * (longer - 1.0 / move.ratio))
        moved[number] = min(max(wanted, here - (here - earlier) // 4), here + (later - here) // 4)
    return moved


@dataclass(frozen=True, slots=True)
class _Move:
    """How pieces are moved."""

    rate_hz: int
    semitones: float
    best: bool

    @property
    def ratio(self) -> float:
        """Source samples that an attack takes for each of its own."""
        return float(2.0 ** (self.semitones / 12.0))

    def copied(self, stereo: Samples, first: int, lead: int, attack: int) -> Samples:
        """The sound around ``first`` as it is, at the new pitch, shape (lead + attack, 2)."""
        if self.semitones == 0.0:
            return stereo[first - lead : first + attack]
        margin = round(MARGIN_S * self.rate_hz)
        count = lead + attack + 2 * margin
        begin, length = first - round((lead + margin) * self.ratio), round(count * self.ratio)
        source = stereo[max(0, begin) : begin + length]
        source = np.pad(source, ((max(0, -begin), 0), (0, 0)))
        source = np.pad(source, ((0, length - source.shape[0]), (0, 0)))
        return fourier_resized(source, count)[margin : margin + lead + attack]

    def sustained(self, sound: Samples, length: int, guard: int) -> Samples:
        """A piece without an attack in ``length`` samples."""
        return _exactly(self._rubber(sound, sound.shape[0] / max(1, length), guard), length)

    def joined(self, sound: Samples, attack: Samples, length: int, guard: int) -> Samples:
        """A piece in ``length`` samples that begins with its copied attack."""
        count = attack.shape[0]
        rest, rest_length = sound.shape[0] - round(count * self.ratio), length - count
        if rest <= 0 or rest_length <= 0:
            return _exactly(attack, length)
        factor = rest / rest_length
        done = self._rubber(sound, factor, guard)
        join = min(round(JOIN_S * self.rate_hz), count)
        start = max(0, round(count * self.ratio / factor) - join)
        start += _slip(done, attack[count - join :], start, round(SLIP_S * self.rate_hz))
        tail = _exactly(done[start:], rest_length + join)
        fade = rising(join)
        tail[:join] = tail[:join] * fade + attack[count - join :] * (1.0 - fade)
        return np.concatenate([attack[: count - join], tail])

    def _rubber(self, sound: Samples, factor: float, guard: int) -> Samples:
        """Rubber Band's finer engine, its short window where it shall be quick.

        (Its older engine is no quicker than that, and bends pitch by up to 40 cents.) The sound is mirrored
        at its end, so that there is no edge; its last ``guard`` samples, in which the next attack may stir
        already, are left out.
        """
        kept = sound[: sound.shape[0] - guard]
        longer = np.concatenate([kept, kept[::-1][: round(TAIL_S * self.rate_hz) + guard]])
        # pedalboard tells channels from samples by which of both is more
        longer = np.pad(longer, ((0, max(0, _FEWEST - longer.shape[0])), (0, 0)))
        options: dict[str, Any] = {} if self.best else {"use_long_fft_window": False}
        done = pedalboard.time_stretch(
            np.ascontiguousarray(longer.T, np.float32),
            self.rate_hz,
            stretch_factor=factor,
            pitch_shift_in_semitones=self.semitones,
            preserve_formants=False,
            **options,
        )
        return np.ascontiguousarray(done.T, np.float32)


def _slip(done: Samples, wanted: Samples, start: int, reach: int) -> int:
    """How far from ``start`` the stretched sound is most like the attack's end (normalised correlation)."""
    low = max(0, start - reach)
    stretch = done[low : start + reach + wanted.shape[0]].sum(axis=1, dtype=np.float64)
    pattern = wanted.sum(axis=1, dtype=np.float64)
    if len(stretch) <= len(pattern):
        return 0
    likeness = np.correlate(stretch, pattern, "valid")
    energy = np.convolve(stretch**2, np.ones(len(pattern)), "valid")
    return int(np.argmax(likeness / np.sqrt(energy + 1e-9))) + low - start


def _exactly(sound: Samples, length: int) -> Samples:
    """Cut or filled with silence to a length; a copy."""
    missing = max(0, length - sound.shape[0])
    return np.pad(sound[:length], ((0, missing), (0, 0)))
