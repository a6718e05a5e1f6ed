"""The screens of a piece, each in its five states."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

from coach.hearing.frames import F0Frame
from coach.notation import LineKind
from coach.pieces.played import Result
from coach.practice.piece_state import Cell
from coach.practice.stages import Stage
from coach.sessions.piece.bringing_in import BundledChoice
from coach.ui.context import ScreenContext
from coach.ui.presenters.choose_view import Aside, ChooseView, Decision
from coach.ui.presenters.drawn import (
    Answer,
    KeysView,
    Loop,
    NeckNote,
    NeckView,
    OtherPlace,
    StillThread,
    StripNote,
    StripView,
    Tile,
)
from coach.ui.presenters.finish import FinishView
from coach.ui.presenters.fit import FitChoice, FitView
from coach.ui.presenters.map_view import MapColumn, MapView
from coach.ui.presenters.piece_standing import FinishedView, PieceView, StageView
from coach.ui.presenters.play_view import PlayView, SheetPage, Way
from coach.ui.presenters.played import PlayedBar, PlayedMark
from coach.ui.presenters.together_view import TogetherView, Tool
from coach.ui.presenters.workbench_view import Step, WorkbenchView
from tests.ui.case import Case, five, page_of

A_SHAPE = tuple(abs(index % 8 - 4) / 4 for index in range(24))
STRINGS = ("E", "B", "G", "D", "A", "E")
BARS = tuple(Fraction(4 * bar) for bar in range(5))


def note(onset: int, name: str, answer: Answer, kind: LineKind = LineKind.MELODY) -> StripNote:
    return StripNote(kind, Fraction(onset), Fraction(1), name, answer)


A_STRIP = StripView(
    BARS,
    Fraction(1),
    (
        note(0, "B", Answer.HEARD),
        note(1, "A", Answer.NOT_HEARD),
        note(2, "G", Answer.OTHER_OCTAVE),
        note(3, "F♯", Answer.CANNOT_TELL),
        note(4, "E", Answer.LATER),
    ),
    (LineKind.MELODY,),
    chosen=(LineKind.MELODY, Fraction(1)),
)
A_NECK = NeckView(
    STRINGS,
    (NeckNote(LineKind.MELODY, 1, 5, "A", 3, "a"), NeckNote(LineKind.BASS, 6, 3, "G", 2, "p", held=True)),
    (OtherPlace(LineKind.MELODY, 2, 10), OtherPlace(LineKind.MELODY, 3, 2, 131.0)),
)
TWO_LINES = StripView(
    BARS,
    Fraction(1),
    (note(0, "B", Answer.UNASKED), note(0, "G", Answer.UNASKED, LineKind.BASS)),
    chosen=(LineKind.MELODY, Fraction(0)),
)
PLAYED = (
    PlayedBar(
        0, "The upbeat: its one note right.", 1, (PlayedMark(LineKind.MELODY, 0.0, 0.02, Result.RIGHT),)
    ),
    PlayedBar(
        2,
        "Bar 2: B4 in the tune came 0.18 s late; I did not hear G2 in the bass; one more to look at.",
        3,
        (
            PlayedMark(LineKind.MELODY, 0.0, 0.3, Result.LATE),
            PlayedMark(LineKind.BASS, 0.0, 0.0, Result.MISSING),
            PlayedMark(LineKind.MELODY, 1.0, -0.05, Result.WRONG),
            PlayedMark(LineKind.MELODY, 2.0, -0.2, Result.EARLY),
        ),
        hardest=True,
    ),
)
PAPER = SheetPage(70, 99, bytes([255]) * (4 * 70 * 99))


def case(word: str, page: str, ready: Any, work: str) -> Case:
    return Case(
        page_of(word, page),
        five(
            ready,
            empty="You have no piece in hand.",
            work=work,
            missing=("There is no microphone.", "Tap the neck instead, or plug one in and look again."),
            failed=("The recording could not be opened.", "Bring the file in again. Nothing is lost."),
        ),
    )


def _humming() -> StillThread:
    """A voice that settles a little below a note."""
    hz = [246.94 * 2 ** ((-0.3 - 2 * max(0.0, 0.3 - i * 0.016)) / 12) for i in range(150)]
    return StillThread(
        5.0, tuple(F0Frame(2.5 + i * 0.016, f, 0.9, True, 2.5 + i * 0.016) for i, f in enumerate(hz))
    )


def _workbench(context: ScreenContext, presenter: Any) -> Any:
    presenter.ear, presenter.levels, presenter.a4_hz = _humming(), None, 440.0
    presenter.nearness = lambda: "Your note is just below B: a little higher makes B."
    return page_of("workbench", "WorkbenchPage")(context, presenter)


WORKBENCH = Case(
    _workbench,
    case(
        "workbench",
        "WorkbenchPage",
        WorkbenchView(
            title="Section A: the tune",
            kind=LineKind.MELODY,
            sentence="Now find it on the neck: play it, or tap it.",
            step=Step.FIND,
            tiles=tuple(Tile(bar, A_SHAPE) for bar in range(1, 5)),
            loop=Loop(0, 1),
            strip=replace(A_STRIP, chosen=(LineKind.MELODY, Fraction(5))),
            neck=A_NECK,
            keys=KeysView(LineKind.MELODY, 64, 36, 84, 69, "A"),
            chosen=Fraction(5),
            said="I heard you: A.",
            action="Place it",
            second="Good enough for now",
            listens=True,
            has_note=True,
            any_notes=True,
            can_undo=True,
            can_redo=True,
        ),
        "Opening the recording",
    ).views,
)

PIECE_CASES: dict[str, Case] = {
    "choose": case(
        "choose",
        "ChoosePage",
        ChooseView(
            Decision.RECORDING,
            "Choose a recording: one that you like, with a tune that you can sing along.",
            "",
            (BundledChoice("a", "Morning by the Canal", 8, "3/4", 92.0, Fraction(1)),),
            (
                Aside(
                    "b",
                    "Ferry Bell",
                    "1 of 3 sections is good enough. Section B is next. Laid aside on 3 May: “too fast”",
                ),
            ),
            said="“song.xyz” cannot be read as sound: choose a wav, flac, ogg, mp3 or m4a file.",
        ),
        "Bringing the recording in",
    ),
    "fit": case(
        "fit",
        "FitPage",
        FitView(
            "These keys suit your guitar. From now on the recording sounds in the one you use.",
            (
                FitChoice("G, no capo", ("G and D are open strings.", "The tune lies within 5 frets.")),
                FitChoice("A, capo on fret 2: your hand plays in G", ("As recorded.",), playing=True),
            ),
        ),
        "Looking for keys that suit the guitar",
    ),
    "piece": case(
        "piece",
        "PiecePage",
        PieceView(
            "Morning by the Canal",
            "1 of 2 sections is good enough. Section B is next.",
            "Find the bass of section B",
            MapView(
                (
                    MapColumn("A", Cell.SETTLED, Cell.SETTLED, Cell.SETTLED),
                    MapColumn("B", Cell.SETTLED, Cell.BEGUN, following=True),
                )
            ),
            ("A third voice in the last bar",),
            ("Keep the thumb steady in bar 3.",),
            section="A",
            stages=(
                StageView(Stage.MELODY, "The tune ✓"),
                StageView(Stage.BASS, "The bass ✓"),
                StageView(Stage.TOGETHER, "Both on the neck ✓"),
                StageView(Stage.PLAYED, "Play it ✓"),
            ),
            finished=(FinishedView("1", "Lamp at the Landing", "Done on 3 May 2026."),),
        ),
        "Reading the log",
    ),
    "workbench": WORKBENCH,
    "together": case(
        "together",
        "TogetherPage",
        TogetherView(
            "Section A: both lines on the neck",
            "With this change your hand can play both lines.",
            replace(A_NECK, hand=3),
            TWO_LINES,
            "Bar 1, beat 1. First finger at fret 3.",
            "Bar 1 is some work: a reach of 92 mm, the hand moves once.",
            "That costs a shift at bar 3. 2 other notes move with it.",
            "Use this change",
            Tool.WAYS,
            ways=(
                "The easiest: the hand moves once, up to fret 5",
                "G in bar 2 on string 2, fret 8: a little harder",
                "B in bar 1 with finger 4; bass D in bar 4 on string 5, fret 5, and 3 more: much harder",
            ),
            way=0,
            offers=(
                "In bar 1 G2 an octave higher. Price: 2.",
                "The bass an octave higher. Price: 5.",
            ),
            offer=0,
            blocked=("The melody note B4 (bar 1) and the bass note G2 (bar 1) lie 131 mm apart.",),
            can_take_back=True,
        ),
        "Looking for the easiest way to play it",
    ),
    "play": case(
        "play",
        "PlayPage",
        PlayView(
            "Section A: play it",
            "Thumb alone first, then the tune, then both. Rest your hand when it tires.",
            (PAPER,),
            "Once more, slower",
            "Good enough for now",
            way=Way.LISTENED,
            bars=PLAYED,
            heard="5 of 8 notes were right, at 58 beats a minute. Hardest: bar 2.",
        ),
        "Engraving the sheet",
    ),
    "finish": case(
        "finish",
        "FinishPage",
        FinishView(
            "Morning by the Canal",
            "Done. This is your arrangement.",
            "Start the next piece",
            ("36 notes found by ear in 2 sections.", "43 questions asked of the recording, 2 hints taken."),
            ("morning-by-the-canal.pdf", "morning-by-the-canal.musicxml"),
            "Take of 31 seconds",
            next_limit="The next piece may have 16 bars from the start.",
            pages=(PAPER,),
        ),
        "Writing the sheet",
    ),
}
