"""A file on its way in: limits, progress, and the best of several tries."""

from dataclasses import dataclass, field

from coach.audio.decode import words
from coach.audio.decode.blocks import Gathered
from coach.audio.decode.limits import MAX_FRAMES, MAX_LENGTH_S, SALVAGE_S
from coach.errors import CoachError
from coach.sessions.ports import DecodedAudio, Jobs, Samples

_LOWEST_BITS_A_SECOND = 8_000
"""No usual codec goes below; a header that promises more seconds than the bytes can hold is not believed."""

_WHAT = "Reading the recording"

_MORE_S = 0.1
"""Another library's reading is preferred if it is this much longer."""


@dataclass(slots=True)
class _Try:
    """What one library made of the file."""

    rate_hz: int
    expected_frames: int | None
    gathered: Gathered
    lost: str | None = None

    @property
    def length_s(self) -> float:
        """Seconds read."""
        return self.gathered.frames / self.rate_hz


@dataclass(slots=True)
class Reading:
    """Takes heads and blocks; gives the recording.

    Parameters
    ----------
    size_bytes
        Of the file.
    jobs
        Told of progress with every block.
    """

    size_bytes: int
    jobs: Jobs
    _now: _Try | None = None
    _before: list[_Try] = field(default_factory=list)
    _failure: CoachError | None = None

    def begin(self, rate_hz: int, expected_frames: int | None) -> None:
        """Take a header; ``TooLargeError`` if it promises too much and the bytes can hold it."""
        length_s = (expected_frames or 0) / rate_hz
        believable = self.size_bytes * 8 >= length_s * _LOWEST_BITS_A_SECOND
        expected = expected_frames if believable else None
        _check(expected or 0, rate_hz)
        self._now = _Try(rate_hz, expected, Gathered(expected))

    def add(self, block: Samples) -> None:
        """Take a block; ``TooLargeError`` past the limit."""
        if self._now is not None:
            _check(self._now.gathered.frames + block.shape[0], self._now.rate_hz)
            self._now.gathered.add(block)
            self.tell()

    def tell(self) -> None:
        """Tell how far it is (and learn whether to go on)."""
        now = self._now
        share = now.gathered.frames / now.expected_frames if now is not None and now.expected_frames else 0.0
        self.jobs.progress(min(share, 0.99), _WHAT)

    def set_aside(self, lost: str | None) -> None:
        """This try had losses; another may follow."""
        if self._now is not None:
            self._now.lost = lost
            self._before.append(self._now)
            self._now = None

    def end(self, lost: str | None) -> None:
        """The last try came to its end."""
        self.set_aside(lost)

    def break_off(self, failure: CoachError) -> None:
        """The last try failed; what came until then is kept, if it is worth it."""
        self._failure = failure
        if self._now is not None:
            self.set_aside(words.broken_off(self._now.length_s))

    def finished(self, sha256: str) -> DecodedAudio:
        """The recording, by the try that read most of it."""
        failure = self._failure if self._failure is not None else words.silent_file()
        if not self._before:
            raise failure
        best = self._before[0]
        for other in self._before[1:]:
            if other.length_s > best.length_s + _MORE_S:
                best = other
        worth = best.length_s >= SALVAGE_S or (self._failure is None and best.length_s > 0)
        if not worth:
            raise failure
        if best.lost is None and len(self._before) > 1:
            best.lost = words.gaps()
        self.jobs.progress(1.0, _WHAT)
        return DecodedAudio(best.gathered.taken(), best.rate_hz, sha256, best.lost)


def _check(frames: int, rate_hz: int) -> None:
    if frames > min(MAX_FRAMES, MAX_LENGTH_S * rate_hz):
        raise words.too_long(rate_hz)
