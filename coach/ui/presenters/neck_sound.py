"""Hearing a section: the way that is shown, or the lines as they are written."""

from coach.notation import Arrangement
from coach.practice.piece_state import SectionState
from coach.sessions.ports import Sound
from coach.sessions.practice_room import PracticeRoom
from coach.tones.lines import arrangement_sound
from coach.ui.presenters.together_view import Sounding

SOUND_GAIN_DB = -6.0
"""The app's own sound starts quiet."""


class NeckSound:
    """One sound at a time, at the speed chosen.

    Parameters
    ----------
    room
        For the loudspeaker.

    Attributes
    ----------
    speed
        Of the piece's own tempo.
    length_s
        Of the sound played last.
    """

    def __init__(self, room: PracticeRoom) -> None:
        self._room = room
        self._sound: Sound | None = None
        self._what = Sounding.NOTHING
        self.speed = 1.0
        self.length_s = 0.0

    @property
    def what(self) -> Sounding:
        """What sounds now."""
        return self._what if self._sound is not None and self._sound.playing else Sounding.NOTHING

    @property
    def over(self) -> bool:
        """Whether it came to its end by itself, and nobody has noticed yet."""
        return self._sound is not None and not self._sound.playing

    def play_or_stop(self, what: Sounding, lines: Arrangement, section: SectionState, a4_hz: float) -> bool:
        """Play the lines of a section, or stop them; false where nothing can sound."""
        stopping = self.what is what
        self.stop()
        if stopping:
            return True
        output = self._room.loudspeaker()
        if output is None:
            return False
        tempo_bpm = lines.tempo_bpm * self.speed
        start, end = section.onset, section.end
        sound = arrangement_sound(
            lines, output.rate_hz, tempo_bpm=tempo_bpm, start=start, end=end, a4_hz=a4_hz
        )
        self.length_s = len(sound) / output.rate_hz
        self._sound, self._what = output.play(sound, output.rate_hz, gain_db=SOUND_GAIN_DB), what
        return True

    def stop(self) -> None:
        """Be silent; harmless when nothing sounds."""
        if self._sound is not None:
            self._sound.stop()
            self._sound = None
