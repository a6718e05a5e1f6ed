"""What the player has chosen: one frozen value, passed in where it is needed."""

import re
from dataclasses import dataclass, field
from datetime import time

from coach.music.naming import Naming
from coach.music.tuning_system import A4_HZ, STANDARD_STRINGS

USUAL_REMINDER = time(18, 0)
_CLOCK_TIME = re.compile(r"([01][0-9]|2[0-3]):([0-5][0-9])")


@dataclass(frozen=True, slots=True)
class VoiceRangeSetting:
    """Comfortable lowest and highest sung note (MIDI), as found while singing."""

    lowest: int
    highest: int


@dataclass(frozen=True, slots=True)
class Settings:
    """All choices of the player; every one has a default and can be changed at any time.

    Parameters
    ----------
    a4_hz
        415 to 466.
    tuning
        MIDI notes of the open strings, 6 to 1.
    minutes_a_day
        What the player wants to give, 5 to 60.
    ear_minutes
        Length of the daily ear set.
    practice_days
        Weekdays (0 is Monday, 6 Sunday) on which the player means to practise; empty: not said.
    reminder_at
        Time of day of the practice reminders, hours and minutes in 24 hours, such as ``18:00``.
    backup_folder
        Where back-ups go and are looked for first; ``None``: the usual folder.
    reach
        ``narrow``, ``starter``, ``own`` or ``seasoned``, as `coach.fretboard.REACHES` has them.
    headphones
        With headphones the microphone may listen while the recording sounds.
    input_device, output_device
        Names as the sound system lists them; ``None`` is its default.
    measures_way
        Whether the sound's way to the microphone is measured after each opening, on what the app sounds.
    volume_db
        Of everything that sounds, at most 0; quiet to begin with.
    teacher
        Whether the teacher's place is shown.
    watched_folder
        Where the teacher's app looks for learners' reports.
    name
        What the player's reports call them; may be empty.

    Raises
    ------
    ValueError
        If a practice day is no weekday, or the time of the reminders is none.
    """

    a4_hz: float = A4_HZ
    tuning: tuple[int, int, int, int, int, int] = STANDARD_STRINGS
    naming: Naming = Naming.ENGLISH
    left_handed: bool = False
    minutes_a_day: int = 20
    ear_minutes: int = 4
    practice_days: tuple[int, ...] = ()
    reminder_at: str = f"{USUAL_REMINDER:%H:%M}"
    backup_folder: str | None = None
    reach: str = "starter"
    headphones: bool = False
    can_sing: bool = True
    voice: VoiceRangeSetting | None = None
    theory_words: bool = False
    dark: bool | None = None
    text_scale: float = 1.0
    reduced_motion: bool = False
    input_device: str | None = None
    output_device: str | None = None
    measures_way: bool = True
    volume_db: float = -12.0
    teacher: bool = False
    watched_folder: str | None = None
    name: str = ""
    set_up_done: tuple[str, ...] = field(default=())

    def __post_init__(self) -> None:
        if not all(0 <= day <= 6 for day in self.practice_days):
            raise ValueError(f"weekdays are 0 to 6, not {self.practice_days}")
        if _CLOCK_TIME.fullmatch(self.reminder_at) is None:
            raise ValueError(f"a time of day is written like 18:00, not {self.reminder_at!r}")

    @property
    def reminder_time(self) -> time:
        """Time of day of the practice reminders."""
        return time.fromisoformat(self.reminder_at)
