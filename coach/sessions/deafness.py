"""When the microphone must not be believed: what sounds on a loudspeaker is not the player."""

from dataclasses import dataclass, field

from coach.sessions.ports import AudioOutput, Clock

DEFAULT_ROUND_TRIP_S = 0.25
"""Before a measurement: longer than any wired device needs. Common practice, no source."""
TAIL_S = 0.08
"""A room rings for a moment after the loudspeaker; added to the round trip. Common practice, no source."""


@dataclass(slots=True)
class Deafness:
    """Closes the ear while the app's own sound is heard, and for the round trip after it.

    Parameters
    ----------
    output
        What the app plays through, ``None`` if it plays nothing.
    clock
        The steady clock.
    headphones
        With headphones nothing reaches the microphone: never deaf.
    round_trip_s
        From handing a sample out to taking it in again, as measured.
    """

    output: AudioOutput | None
    clock: Clock
    headphones: bool = False
    round_trip_s: float = DEFAULT_ROUND_TRIP_S
    _sounded_until_s: float = field(default=float("-inf"))
    _sounding: bool = False

    def closed(self) -> bool:
        """Whether the ear is closed at this moment."""
        return self.clock.steady_s() < self.closed_until_s()

    def closed_until_s(self) -> float:
        """Until when what is taken in must not be believed, on the steady clock; without end while it sounds.

        A sound that has ended since it was looked at last may have ended just now: whoever was held up and
        takes in a long block afterwards must not take it for the player.
        """
        if self.headphones or self.output is None:
            return float("-inf")
        if self.output.sounding:
            self._sounding = True
            return float("inf")
        if self._sounding:
            self._sounding, self._sounded_until_s = False, self.clock.steady_s()
        return self._sounded_until_s + self.round_trip_s + TAIL_S

    def quiet(self) -> bool:
        """Whether the app's own sound is over for the player too: with headphones as well."""
        if self.output is None:
            return True
        return not self.output.sounding and not self.closed()
