# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""The five states of the daily screens: drill, tuner, log, set-up, first run."""

from typing import Any

from coach.hearing.frames import F0Frame
from coach.practice.piece_state import Cell
from coach.ui.context import ScreenContext
from coach.ui.presenters.drawn import DayMark, PaceView, SkillCell, StillThread, Target
from coach.ui.presenters.drill import DrillView, Phase
from coach.ui.presenters.ear import DrillRow, EarView
from coach.ui.presenters.first_run import FirstRunView, Moment
from coach.ui.presenters.log import EventLine, LogView
from coach.ui.presenters.map_view import MapColumn, MapView
from coach.ui.presenters.setup import Asked, SetupView, Typed
from coach.ui.presenters.setup_cards import CARDS, HANDS, LESSONS
from coach.ui.presenters.setup_sound import CAUTION
from coach.ui.presenters.teacher_view import LearnerCard, Mode, TeacherView
from coach.ui.presenters.tuner import StringView, TunerView
from tests.ui.case import Case, five

NO_MICROPHONE = ("I cannot hear you.", "There is no microphone: plug one in, or allow this app to use it.")


def _drill(context: ScreenContext, presenter: Any) -> Any:
    from coach.ui.screens.drill.screen import DrillPage

    presenter.ear = presenter.levels = None
    presenter.check_device = lambda: None
    return DrillPage(context, presenter)


def _sung() -> StillThread:
    """Two seconds of a voice that slides up to a note a little below B3."""
    hz = [246.94 * 2 ** ((-0.2 - 3 * max(0.0, 0.3 - i * 0.016)) / 12) for i in range(150)]
    return StillThread(
        5.0, tuple(F0Frame(2.5 + i * 0.016, f, 0.9, True, 2.5 + i * 0.016) for i, f in enumerate(hz))
    )


A_DRILL = DrillView(
    3, 8, "Match a note", "Sing the note you hear, in your own octave.", "Right, a little low. Sure.",
    Phase.RIGHT, targets=(Target(2.5, 5.0, 59.0),), still=_sung(),
)  # fmt: skip


def _tuner(context: ScreenContext, presenter: Any) -> Any:
    from coach.ui.screens.tuner.screen import TunerPage

    presenter.levels = None
    return TunerPage(context, presenter)


A_TUNING = TunerView(
    "Your D is a little low: tighten slightly.", "D", -9.0, steady=True, in_tune=False, warn="",
    strings=tuple(
        StringView(6 - place, name, "", place < 2, place == 2) for place, name in enumerate("EADGBE")
    ),
)  # fmt: skip


def _log(context: ScreenContext, presenter: Any) -> Any:
    from coach.ui.screens.log.screen import LogPage

    presenter.search = lambda _query: None
    return LogPage(context, presenter)


def _week(*minutes: float) -> tuple[DayMark, ...]:
    return tuple(DayMark("day", each, today=each == 12) for each in minutes)


A_LOG = LogView(
    "52 minutes this week, on 3 days.",
    weeks=(
        ("4 Jan", _week(18, 22, 12, 0, 0, 0, 0)), ("28 Dec", _week(20, 0, 15, 25, 0, 31, 8)),
        ("21 Dec", _week(0, 12.5, 20, 0, 18, 0, 22)),
    ),
    week_words=("14 Dec", "21 Dec", "28 Dec", "4 Jan"), week_minutes=(35.0, 72.0, 142.0, 52.0),
    goal_minutes=140.0, has_take=True,
    safe="Your last back-up is 45 days old: “Keep it safe” makes one with one tap.",
    skills=(
        SkillCell("Match a note", 0.92, "sure, 24 answers"), SkillCell("Bass moves", 0.6, "shaky, 9 answers"),
        SkillCell("Interval echo", 0.3, "often missed, 4 answers"),
    ),
    events=(
        EventLine("6 Jan 19:42", "Asked for F♯ in the bass of section B: right note, 12 frets off"),
        EventLine("6 Jan 19:40", "Drill “match a note”, level 2: sure"),
        EventLine("6 Jan 19:31", "Tuned string 6: −2 cents"),
    ),
    found=318,
    map=MapView((MapColumn("A", Cell.SETTLED, Cell.SETTLED, Cell.SETTLED), MapColumn("B", Cell.BEGUN))),
    pace=PaceView(
        ((0, 0), (5, 0.125), (9, 0.25), (16, 0.375), (21, 0.375)), 44, 38, 31, 44, ("14 Dec", "27 Jan")
    ),
)  # fmt: skip


def _setup(context: ScreenContext, presenter: Any) -> Any:
    from coach.ui.screens.setup.screen import SetupPage

    presenter.levels = presenter.back = None
    return SetupPage(context, presenter)


A_CARD = SetupView(
    3, len(CARDS), HANDS.title, HANDS.why,
    tuple(Asked(each.key, each.asked, each.options, each.options[1][0]) for each in HANDS.questions),
    tools=(("tuner", "Open the tuner"),), note="There is no microphone: plug one in.",
    lines=tuple(Typed(each.key, each.asked, each.keep, "D2,A2,D3,G3,B3,E4") for each in LESSONS.lines),
    caution=CAUTION,
)  # fmt: skip


def _first_run(context: ScreenContext, presenter: Any) -> Any:
    from coach.ui.screens.first_run.screen import FirstRunPage

    presenter.levels = None
    presenter.tap = presenter.show_neck = lambda *_: None
    return FirstRunPage(context, presenter)


A_SEARCH = FirstRunView(
    Moment.FIND, "Hear the second note, hum it, then play it on your guitar.", "Hear it again", "A hint",
    "E: not heard there. Hum the note first, then look for it.", ("G", None, None), 1,
)  # fmt: skip


def _ear(context: ScreenContext, presenter: Any) -> Any:
    from coach.ui.screens.ear.screen import EarPage

    presenter.sing = lambda _choice: None
    return EarPage(context, presenter)


A_SET = EarView(
    "8 drills, about 4 minutes.",
    (
        DrillRow("Match a note", 2, "due", "finding any note you can hum"),
        DrillRow("Sing an interval back", 3, "due", "finding the next note of a tune", for_piece=True),
        DrillRow("Follow the bass", 2, "new", "following a bass line", for_piece=True),
        DrillRow("Same, higher or lower", 1, "easy, to end with", "hearing which way a tune goes"),
    ),
    sings=True,
)


def _teacher(context: ScreenContext, presenter: Any) -> Any:
    from coach.ui.screens.teacher.screen import TeacherPage

    return TeacherPage(context, presenter)


A_CLASS = TeacherView(
    Mode.LEARNERS, "4 learners: 1 is stuck.", "Make a pack", "Read again", "/home/teacher/reports",
    learners=(
        LearnerCard(
            "carl.json", "Carl C.", "The bass of section B, “Morning by the Canal”",
            "Stuck here since 14 December, 6 practice days", stuck=True,
            facts="Report of 4 January. 38 % of the piece is good enough. Last practised on 3 January. "
            "Likely done by 27 January, the aim is 20 January.",
            can_reply=True,
        ),
        LearnerCard(
            "amy.json", "Amy", "Playing of section D, “Morning by the Canal”",
            "Here since 2 January, 2 practice days", stuck=False,
            facts="Report of 4 January. 88 % of the piece is good enough. Last practised on 4 January.",
            can_reply=True,
        ),
        LearnerCard(
            "zoe.json", "Zoe", "The tune of section A, “Morning by the Canal”",
            "Here since 4 January, 1 practice day", stuck=False,
            facts="Report of 4 January. 0 % of the piece is good enough.", can_reply=True,
        ),
        LearnerCard(
            "new.json", "new", "No piece is in hand", "", stuck=False, facts="Report of 4 January.",
            can_reply=False,
        ),
    ),
    troubles=("“notes.json” is not a report of this app: ask for a new one.",),
)  # fmt: skip

DAILY_CASES: dict[str, Case] = {
    "tuner": Case(
        _tuner,
        five(
            A_TUNING,
            empty="No string is asked for.",
            work="Opening the microphone",
            missing=NO_MICROPHONE,
            failed=("The tuner could not be opened.", "Another copy of this app is open: close it first."),
        ),
    ),
    "log": Case(
        _log,
        five(
            A_LOG,
            empty="Nothing is in the log yet. It fills by itself while you practise.",
            work="Reading the log",
            missing=("The log of this folder is not here.", "Plug in the disk with your data folder."),
            failed=(
                "The log could not be read.",
                "Restore a back-up: coach restore FILE. Nothing was changed.",
            ),
        ),
    ),
    "setup": Case(
        _setup,
        five(
            A_CARD,
            empty="That is all I need to know. You can change it here at any time.",
            work="Listening for my own clicks: be quiet for a moment",
            missing=NO_MICROPHONE,
            failed=("Your choice could not be kept.", "The disk is full: make room on it."),
        ),
    ),
    "first_run": Case(
        _first_run,
        five(
            A_SEARCH,
            empty="Turn a recording you like into your first arrangement for one guitar.",
            work="Getting the tune ready",
            missing=NO_MICROPHONE,
            failed=("The tune could not be made ready.", "The disk is full: make room on it."),
        ),
    ),
    "ear": Case(
        _ear,
        five(
            A_SET,
            empty="Nothing is due for the ear today.",
            work="Looking what is due",
            missing=NO_MICROPHONE,
            failed=("The drills could not be read.", "own.toml, line 3: “level” must be a number. Mend it."),
        ),
    ),
    "drill": Case(
        _drill,
        five(
            A_DRILL,
            empty="That was today's ear set: 8 drills, 6 right.",
            work="Opening the microphone",
            missing=NO_MICROPHONE,
            failed=(
                "The drills could not be opened.",
                "own.toml, line 3: “level” must be a number. Mend it.",
            ),
        ),
    ),
    "teacher": Case(
        _teacher,
        five(
            A_CLASS,
            empty="No folder is watched yet. Choose the one your learners put their reports into.",
            work="Reading the reports",
            missing=("The teacher's place is switched off.", "Switch it on in Set-up."),
            failed=(
                "The reports could not be read.",
                "The folder “/media/lessons” cannot be read: choose another one to watch.",
            ),
        ),
    ),
}
