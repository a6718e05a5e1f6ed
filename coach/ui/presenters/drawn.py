"""The values that the shared drawings show. Presenters make them; widgets draw them."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from math import log2

from coach.hearing.frames import F0Frame
from coach.music.tuning_system import A4_HZ
from coach.notation.line import LineKind

# --- bar tiles --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Tile:
    """One bar of the recording.

    Parameters
    ----------
    number
        As it is counted; 0 is the upbeat, less comes before the piece.
    loudness
        Its shape over time, each 0 to 1; any count.
    beats
        Beats on its ruler.
    section
        Name of the section that begins here, empty elsewhere.
    """

    number: int
    loudness: tuple[float, ...]
    beats: int = 4
    section: str = ""

    @property
    def word(self) -> str:
        """As it stands on the tile."""
        return str(self.number) if self.number > 0 else "before" if self.number else "upbeat"


@dataclass(frozen=True, slots=True)
class Loop:
    """The bars that sound again and again, by their index, both included."""

    first: int
    last: int

    def tapped(self, index: int, *, open_end: bool) -> "Loop":
        """The loop after a tap: a first tap begins it, a second one (``open_end``) ends it."""
        if open_end and index >= self.first:
            return Loop(self.first, index)
        return Loop(index, index)


# --- line strip -------------------------------------------------------------------------------------------


class Answer(Enum):
    """What a check said about a note, as it is marked on the strip."""

    UNASKED = ""
    HEARD = "heard"
    OTHER_OCTAVE = "right note, 12 frets off"
    EARLIER = "a little earlier"
    LATER = "a little later"
    NOT_HEARD = "not heard there"
    CANNOT_TELL = "this recording does not tell"
    OPEN = "an open question"


@dataclass(frozen=True, slots=True)
class StripNote:
    """A found note: times in quarters, its name as the player reads it, and what a check said.

    ``long`` or short where no beats tell it; ``None`` where they do.
    """

    kind: LineKind
    onset: Fraction
    duration: Fraction
    name: str
    answer: Answer = Answer.UNASKED
    long: bool | None = None


@dataclass(frozen=True, slots=True)
class StripView:
    """Found notes on the beat ruler.

    Parameters
    ----------
    bars
        Onset of each bar in quarters, rising, and the end of the last one.
    beat
        Length of a beat in quarters.
    first_number
        Number of the first bar.
    chosen
        The onset and line under the cursor.
    slots
        Times at which a note is to be looked for; they hold no pitch.
    """

    bars: tuple[Fraction, ...]
    beat: Fraction
    notes: tuple[StripNote, ...] = ()
    kinds: tuple[LineKind, ...] = (LineKind.MELODY, LineKind.BASS)
    first_number: int = 1
    chosen: tuple[LineKind, Fraction] | None = None
    slots: tuple[tuple[LineKind, Fraction], ...] = ()


# --- fretboard --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class NeckNote:
    """A note on the neck: frets count from the capo; ``finger`` 1 to 4, ``None`` for an open string.

    ``held`` since a moment before; ``chosen`` as the one that is being asked about.
    """

    kind: LineKind
    string: int
    fret: int
    name: str
    finger: int | None = None
    right_hand: str | None = None
    held: bool = False
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class OtherPlace:
    """Another place of the same note; out of reach: hatched, with how far the fingers would spread.

    ``barred`` for a place that cannot be had for another reason than distance: hatched, too.
    """

    kind: LineKind
    string: int
    fret: int
    too_far_mm: float | None = None
    barred: bool = False

    @property
    def out_of_reach(self) -> bool:
        """Whether the note cannot be played there."""
        return self.barred or self.too_far_mm is not None


@dataclass(frozen=True, slots=True)
class NeckView:
    """The fretboard of one moment.

    Parameters
    ----------
    string_names
        Names of strings 1 (thinnest) to 6 as they sound open, the capo included.
    frets
        How many frets from the capo on can be played.
    hand
        Fret under the first finger, from the capo; ``None`` where it is not known.
    """

    string_names: tuple[str, ...]
    notes: tuple[NeckNote, ...] = ()
    places: tuple[OtherPlace, ...] = ()
    capo: int = 0
    frets: int = 12
    hand: int | None = None


# --- piano keys -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class KeysView:
    """Piano keys to enter a note by.

    Parameters
    ----------
    near
        Note (MIDI) of the player's around which the keys begin: their last one, or the line's register.
    lowest, highest
        The first and the last key there is.
    shown, name
        The player's note at the chosen place, and how it is called; ``None`` without one.
    """

    kind: LineKind
    near: int
    lowest: int = 36
    highest: int = 84
    shown: int | None = None
    name: str = ""


# --- pitch thread -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Target:
    """Where the answer lay: from and to in the listener's time, and the pitch as a MIDI number."""

    from_s: float
    to_s: float
    midi: float


def threads(frames: Sequence[F0Frame], a4_hz: float = A4_HZ) -> tuple[tuple[tuple[float, float], ...], ...]:
    """Runs of voiced frames as (time in s, MIDI number with cents after the point); lone frames are left out.

    MIDI 1.0 note number of a frequency: 69 + 12 log2(f / A4).
    """
    runs: list[tuple[tuple[float, float], ...]] = []
    run: list[tuple[float, float]] = []
    for frame in frames:
        midi = None if frame.f0_hz is None else 69.0 + 12.0 * log2(frame.f0_hz / a4_hz)
        if midi is None or (run and abs(midi - run[-1][1]) > LEAP_SEMITONES):
            if len(run) > 1:
                runs.append(tuple(run))
            run = []
        if midi is not None:
            run.append((frame.time_s, midi))
    if len(run) > 1:
        runs.append(tuple(run))
    return tuple(runs)


LEAP_SEMITONES = 1.5
"""Farther than this from frame to frame (16 ms) is a new note, not a slide (our own choice)."""


# --- charts -----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class DayMark:
    """A day of the log: ``minutes`` give the size of its mark; ``word`` is the day as read."""

    word: str
    minutes: float
    today: bool = False


@dataclass(frozen=True, slots=True)
class SkillCell:
    """An ear skill: its name, how sure (0 to 1, ``None`` before the first answer), and that in words."""

    name: str
    sure: float | None
    word: str


@dataclass(frozen=True, slots=True)
class PaceView:
    """How a piece went against its aim.

    Parameters
    ----------
    points
        Days since the piece was chosen, and the share of it that was settled by then (0 to 1), rising.
    days
        How many days are drawn; at least the last point's.
    aim
        The aim, in days since the piece was chosen.
    early, late
        The forecast's range, in the same days.
    words
        Words of the first and the last day.
    """

    points: tuple[tuple[float, float], ...]
    days: float
    aim: float | None = None
    early: float | None = None
    late: float | None = None
    words: tuple[str, str] = ("", "")


SHOWN_S = 6.0
"""So much of the player's own pitch is drawn."""


@dataclass(frozen=True, slots=True)
class StillThread:
    """A thread that has come to rest: the listener's time and its frames, as they were."""

    heard_s: float
    frames: tuple[F0Frame, ...]

    def frames_since(self, time_s: float) -> tuple[F0Frame, ...]:
        """Frames from a moment on."""
        return tuple(frame for frame in self.frames if frame.time_s >= time_s)
