"""The cards of set-up: what each asks, what it is for, and what an answer changes in the settings.

The hand is asked about on the neck, by distances that anybody can try. Of a 650 mm string (`fret_mm`) frets 3
and 6 lie 87 mm apart, which a starter's reach of 100 mm between index and little finger includes, frets 3 and
7 lie 113 mm apart, and frets 1 and 5 127 mm, just within the 128 mm of the wide one. So a *yes* to the first
question alone changes nothing, a *no* gives the narrow reach, a *yes* to the second one a reach in between,
and only a *yes* to the third the wide reach.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from coach.fretboard.tuning import Tuning
from coach.music.naming import Naming
from coach.music.tuning_system import STANDARD_STRINGS
from coach.practice.settings import Settings
from coach.ui.presenters.setup_sound import CAUTION, VOLUMES_DB, volume_of
from coach.ui.presenters.weekdays import COUNTED_ON, WEEKDAY_OPTIONS, toggled


@dataclass(frozen=True, slots=True)
class Question:
    """One choice of a card.

    Parameters
    ----------
    key
        A word for it.
    asked
        The question; empty where the card's title says it.
    options
        Pairs of a value's word and what the player reads.
    read
        Which option the settings hold now; a word that is none of them chooses none.
    write
        The settings with another option.
    many
        Whether any number of options may be on; `read` then gives their words with commas between.
    """

    key: str
    asked: str
    options: tuple[tuple[str, str], ...]
    read: Callable[[Settings], str]
    write: Callable[[Settings, str], Settings]
    many: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """A line to be typed: a word for it, what is asked, the button that keeps it, what is there now."""

    key: str
    asked: str
    keep: str
    read: Callable[[Settings], str]


@dataclass(frozen=True, slots=True)
class Card:
    """One card: its word, title, what it is for, its questions.

    Parameters
    ----------
    listens
        Whether the level bar is shown.
    devices
        Which devices are to be chosen here: ``input``, ``output``.
    caution
        What the player has to mind.
    """

    word: str
    title: str
    why: str
    questions: tuple[Question, ...] = ()
    listens: bool = False
    tools: tuple[tuple[str, str], ...] = ()
    lines: tuple[Line, ...] = ()
    devices: tuple[str, ...] = ()
    caution: str = ""


TUNINGS = {
    "standard": ("E A D G B E", STANDARD_STRINGS),
    "low_d": ("D A D G B E", (38, 45, 50, 55, 59, 64)),
    "half_down": ("all a fret lower", (39, 44, 49, 54, 58, 63)),
}
STANDARDS_HZ = ("415", "432", "440", "442", "443")
"""ISO 16 fixes 440 Hz; the others are in use (common practice, no source)."""
MINUTES = ("10", "15", "20", "25", "30", "45")
EAR_MINUTES = ("3", "4", "5", "8", "12")
TEXT_SIZES = {"1.0": "usual", "1.25": "larger", "1.5": "largest"}


def _yes(
    key: str,
    asked: str,
    words: tuple[str, str],
    read: Callable[[Settings], bool],
    write: Callable[[Settings, bool], Settings],
) -> Question:
    """A question between two words, kept as a truth value of the settings."""
    return Question(
        key,
        asked,
        (("yes", words[0]), ("no", words[1])),
        lambda settings: "yes" if read(settings) else "no",
        lambda settings, word: write(settings, word == "yes"),
    )


def _tuning_of(settings: Settings) -> str:
    return next((word for word, (_, tuning) in TUNINGS.items() if tuning == settings.tuning), "own")


def _dark_of(settings: Settings) -> str:
    return {None: "hour", True: "dark", False: "light"}[settings.dark]


def _three_frets(settings: Settings, *, can: bool) -> Settings:
    if not can:
        return replace(settings, reach="narrow")
    return replace(settings, reach="starter") if settings.reach == "narrow" else settings


def _fret_seven(settings: Settings, *, can: bool) -> Settings:
    if can:
        return settings if settings.reach == "seasoned" else replace(settings, reach="own")
    return replace(settings, reach="starter") if settings.reach in {"own", "seasoned"} else settings


def _four_frets(settings: Settings, *, can: bool) -> Settings:
    if can:
        return replace(settings, reach="seasoned")
    return replace(settings, reach="starter") if settings.reach == "seasoned" else settings


ROOM = Card(
    "room",
    "Can I hear you?",
    "Play or sing: the bar should move well past the mark, which is the noise of your room.",
    listens=True,
    devices=("input",),
)
SOUND = Card(
    "sound",
    "What you hear",
    "On a loudspeaker I stop listening while I sound; with headphones on a cable I listen all the time.",
    (
        _yes(
            "headphones",
            "How do you listen?",
            ("headphones or cable", "loudspeaker"),
            lambda settings: settings.headphones,
            lambda settings, on: replace(settings, headphones=on),
        ),
        Question(
            "volume",
            "How loud?",
            tuple(VOLUMES_DB.items()),
            volume_of,
            lambda settings, word: replace(settings, volume_db=min(0.0, float(word))),
        ),
        _yes(
            "way",
            "May I listen to my own sound, to know how long it takes to the microphone?",
            ("yes, while I sound", "no"),
            lambda settings: settings.measures_way,
            lambda settings, on: replace(settings, measures_way=on),
        ),
    ),
    listens=True,
    tools=(("tone", "Play a soft tone"), ("measure", "Measure the sound's way")),
    devices=("output",),
    caution=CAUTION,
)
TUNING = Card(
    "tuning",
    "How is your guitar tuned?",
    "I compare your strings with this, and count frets from it.",
    (
        Question(
            "tuning",
            "Strings from low to high",
            tuple((word, words) for word, (words, _) in TUNINGS.items()),
            _tuning_of,
            lambda settings, word: replace(settings, tuning=TUNINGS[word][1]),
        ),
        Question(
            "a4",
            "Concert A, in Hz",
            tuple((hz, hz) for hz in STANDARDS_HZ),
            lambda settings: f"{settings.a4_hz:.0f}",
            lambda settings, word: replace(settings, a4_hz=float(word)),
        ),
    ),
    tools=(("tuner", "Open the tuner"),),
    lines=(
        Line(
            "strings",
            "Or six strings of your own, from the thickest up, such as D2,A2,D3,G3,B3,E4",
            "Use these strings",
            lambda settings: Tuning(settings.tuning).name,
        ),
    ),
)
HANDS = Card(
    "hands",
    "Your hands",
    "The neck is drawn as you hold it, and nothing is asked of a hand that it cannot reach.",
    (
        _yes(
            "left",
            "Which hand presses the strings?",
            ("the right one", "the left one"),
            lambda settings: settings.left_handed,
            lambda settings, on: replace(settings, left_handed=on),
        ),
        _yes(
            "three_frets",
            "First finger on fret 3: can the little finger press fret 6?",
            ("yes", "not yet, or it hurts"),
            lambda settings: settings.reach != "narrow",
            lambda settings, can: _three_frets(settings, can=can),
        ),
        _yes(
            "fret_seven",
            "And fret 7, with ease?",
            ("yes, with ease", "no"),
            lambda settings: settings.reach in {"own", "seasoned"},
            lambda settings, can: _fret_seven(settings, can=can),
        ),
        _yes(
            "four_frets",
            "First finger on fret 1: can the little finger press fret 5, with ease?",
            ("yes, a wide reach", "no, a smaller one"),
            lambda settings: settings.reach == "seasoned",
            lambda settings, can: _four_frets(settings, can=can),
        ),
    ),
)
NAMES = Card(
    "names",
    "Names of notes",
    "Everything you read uses them.",
    (
        Question(
            "naming",
            "",
            (
                (Naming.ENGLISH.value, "C D E F G A B"),
                (Naming.SOLFEGE.value, "do re mi fa sol la si"),
                (Naming.GERMAN.value, "C D E F G A H"),
            ),
            lambda settings: settings.naming.value,
            lambda settings, word: replace(settings, naming=Naming(word)),
        ),
        _yes(
            "theory",
            "Distances between notes",
            ("third, fifth, octave", "counted in frets"),
            lambda settings: settings.theory_words,
            lambda settings, on: replace(settings, theory_words=on),
        ),
    ),
)
VOICE = Card(
    "voice",
    "Your voice",
    "Humming a note before you look for it is the quickest way to find it. Nobody listens but me.",
    (
        _yes(
            "sing",
            "",
            ("I can hum or sing", "I can't sing now"),
            lambda settings: settings.can_sing,
            lambda settings, on: replace(settings, can_sing=on),
        ),
    ),
)
DAY = Card(
    "day",
    "Minutes a day",
    "Today's steps fit into them; most of them go to your piece.",
    (
        Question(
            "minutes",
            "All together",
            tuple((word, f"{word} min") for word in MINUTES),
            lambda settings: str(settings.minutes_a_day),
            lambda settings, word: replace(settings, minutes_a_day=int(word)),
        ),
        Question(
            "ear",
            "Of these for the ear",
            tuple((word, f"{word} min") for word in EAR_MINUTES),
            lambda settings: str(settings.ear_minutes),
            lambda settings, word: replace(settings, ear_minutes=int(word)),
        ),
        Question(
            "days",
            f"Days on which you mean to practise; none chosen is every day. {COUNTED_ON}",
            WEEKDAY_OPTIONS,
            lambda settings: ",".join(str(day) for day in settings.practice_days),
            lambda settings, word: replace(
                settings, practice_days=toggled(settings.practice_days, int(word))
            ),
            many=True,
        ),
    ),
    tools=(("remind", "Set reminders"),),
)
LOOK = Card(
    "look",
    "How it looks",
    "So that you can read it with the guitar in your lap.",
    (
        Question(
            "dark",
            "Colours",
            (("hour", "dark at night"), ("dark", "always dark"), ("light", "always light")),
            _dark_of,
            lambda settings, word: replace(settings, dark={"hour": None, "dark": True, "light": False}[word]),
        ),
        Question(
            "text",
            "Text",
            tuple(TEXT_SIZES.items()),
            lambda settings: str(settings.text_scale),
            lambda settings, word: replace(settings, text_scale=float(word)),
        ),
        _yes(
            "still",
            "Motion",
            ("as little as possible", "where it helps"),
            lambda settings: settings.reduced_motion,
            lambda settings, on: replace(settings, reduced_motion=on),
        ),
    ),
)
LESSONS = Card(
    "lessons",
    "With a teacher",
    "A teacher can hand you a piece as a pack, and answer your report. "
    "What you record stays on this device unless you tick it in the log.",
    (
        _yes(
            "teacher",
            "Do you teach with this app?",
            ("yes, show me the teacher's place", "no"),
            lambda settings: settings.teacher,
            lambda settings, on: replace(settings, teacher=on),
        ),
    ),
    lines=(
        Line(
            "file",
            "A pack or a reply from your teacher (drop it here, or type where it is)",
            "Open it",
            lambda _settings: "",
        ),
        Line(
            "name",
            "What your teacher calls you, for your reports",
            "Keep this name",
            lambda settings: settings.name,
        ),
    ),
)
CARDS: Sequence[Card] = (ROOM, SOUND, TUNING, HANDS, NAMES, VOICE, DAY, LESSONS, LOOK)
"""In order: what is needed first comes first."""
