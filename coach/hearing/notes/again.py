"""Whether what an onset brings is a pitch that sounded already, struck once more; and whose sound it is."""

from coach.hearing.frames import PitchFrame
from coach.hearing.notes.candidate import TELLING_SHARE, Candidate, Claim, rather
from coach.hearing.notes.fresh import Fresh, string_concentration
from coach.hearing.notes.manner import Manner
from coach.hearing.notes.memory import FLOOR_DB, SoundMemory
from coach.hearing.notes.sounding import SAME, Sounding
from coach.hearing.notes.upset import upset
from coach.hearing.onsets import Onset
from coach.music.tuning_system import midi_to_hz

_FORGET_DB_PER_S = 2.0
"""How fast the loudest recent note is forgotten."""
_BEFORE_AGAIN_S = 0.03
_RENEWED = 0.6
"""Share of a pitch's partials that must have grown when it is struck again."""
_PURE = 1.3
"""Or so much of what is new lies on them, against the least of any string: it is struck more softly."""
_ELSEWHERE = 0.7
"""With so little of what is new on the old pitch's partials another string was struck (measured: 0.54, and
0.77 or more where it was the old one, softly)."""


class Loudness:
    """How loud the player is: what is far softer is someone else's.

    Parameters
    ----------
    below_db
        By how much a note may be softer than the loudest recent one.
    """

    def __init__(self, below_db: float) -> None:
        self._below_db = below_db
        self._loudest_db = FLOOR_DB
        self._loudest_s = 0.0

    def is_players(self, level_db: float, at_s: float) -> bool:
        """Whether a note is loud enough against those before it; remembers how loud it was."""
        remembered_db = self._loudest_db - _FORGET_DB_PER_S * (at_s - self._loudest_s)
        if level_db < remembered_db - self._below_db:
            return False
        if level_db >= remembered_db:
            self._loudest_db, self._loudest_s = level_db, at_s
        return True


class StruckAgain:
    """Judges onsets of a pitch that sounds already.

    Parameters
    ----------
    memory, manner, loudness
        The sound, what is expected of its source, and how loud the player is.
    a4_hz
        The tuning that note numbers refer to.
    """

    def __init__(self, memory: SoundMemory, manner: Manner, loudness: Loudness, a4_hz: float) -> None:
        self._memory, self._manner, self._loudness, self._a4_hz = memory, manner, loudness, a4_hz

    def surely(self, onset: Onset, fresh: Fresh, pitch: float, note: Sounding | None) -> bool:
        """Whether a pitch that sounded already was really struck again.

        Parameters
        ----------
        onset, fresh
            The onset, and what is new after it.
        pitch
            As a MIDI number.
        note
            The one under way, if any.
        """
        if not self._faded(onset, pitch, note):
            return False
        if self._young(onset, note) and note is not None and abs(pitch - note.centre) <= SAME:
            return False
        renewal = fresh.renewal(pitch)
        least = _PURE * string_concentration(pitch)
        pure = abs(fresh.best - pitch) <= SAME and renewal.concentration >= least
        if onset.strength >= self._manner.again_strength and (renewal.share >= _RENEWED or pure):
            return True
        return self._loudness.is_players(fresh.level_db, onset.time_s)

    def softly(
        self,
        candidate: Candidate,
        frame: PitchFrame,
        fresh: Fresh,
        found: Claim | None,
        note: Sounding | None,
    ) -> Claim | None:
        """What rang before, if it was struck again more softly than it rings; ``None`` if it was not.

        Parameters
        ----------
        candidate
            The onset and what was heard since; once enough is heard this is settled, and it says so.
        frame, fresh
            The newest frame, and what is new after the onset.
        found
            What the candidate itself claims.
        note
            The one under way, if any.
        """
        old, onset = candidate.old, candidate.onset
        if candidate.weighed or old is None:
            return None
        on_old = frame.pitch is not None and abs(frame.pitch - old) <= SAME
        pitch = old if found is None or on_old else found.pitch
        if found is None and not on_old:
            return None
        left = upset(self._memory, midi_to_hz(pitch, self._a4_hz), onset.time_s)
        if left is None:
            return None
        candidate.weighed = True
        clearly = fresh.share >= TELLING_SHARE and rather(fresh.best, pitch, fresh)
        other = clearly or fresh.renewal(pitch).concentration < _ELSEWHERE
        if self._young(onset, note) or other:
            return None
        if not (self._faded(onset, pitch, note) and left.struck_again(onset.strength)):
            return None
        return Claim(pitch, frame.confidence, again=True)

    def _young(self, onset: Onset, note: Sounding | None) -> bool:
        return note is not None and onset.time_s - note.start_s < self._manner.again_after_s

    def _faded(self, onset: Onset, pitch: float, note: Sounding | None) -> bool:
        """Whether the note under way, if it has that pitch, has faded as all that is struck does."""
        if note is None or note.loudest_db is None or abs(pitch - note.centre) > SAME:
            return True
        now_db = self._memory.level_db(onset.time_s - _BEFORE_AGAIN_S)
        return note.loudest_db - now_db >= self._manner.fades_db
