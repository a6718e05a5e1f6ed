"""Where a piece stands, in words and in what its page shows."""

from dataclasses import dataclass
from datetime import date

from coach.practice.piece_state import Cell, PieceState, SectionState
from coach.practice.progress import Progress
from coach.practice.stages import SECTION_STAGES, Stage
from coach.ui.presenters.days import day_words
from coach.ui.presenters.map_view import NO_MAP, MapView
from coach.ui.presenters.view import Empty, PageView, Ready

SCREEN_OF_STAGE = {
    Stage.MELODY: ("workbench", "Find the tune of section {}"),
    Stage.BASS: ("workbench", "Find the bass of section {}"),
    Stage.TOGETHER: ("together", "Put section {} on the neck"),
    Stage.PLAYED: ("play", "Play section {}"),
}


STAGE_WORDS = {
    Stage.MELODY: "The tune",
    Stage.BASS: "The bass",
    Stage.TOGETHER: "Both on the neck",
    Stage.PLAYED: "Play it",
}
"""The stages of a section, as one goes back to them."""
TOO_HARD, ANOTHER = "It is too hard for now", "I would rather do another one"
"""Reasons that need no keyboard."""
NO_PIECE = "You have no piece in hand."
KEPT = " What you laid aside is kept: you find it where you choose one."


@dataclass(frozen=True, slots=True)
class StageView:
    """A stage of a section that can be opened, and its words."""

    stage: Stage
    words: str


@dataclass(frozen=True, slots=True)
class FinishedView:
    """A piece that is done: its title, and when."""

    piece: str
    title: str
    words: str


@dataclass(frozen=True, slots=True)
class PieceView:
    """What the piece's page shows.

    Parameters
    ----------
    standing
        Where the piece stands, in a sentence.
    action
        Words of the next step.
    ideas
        The next-time list.
    words
        The teacher's words.
    lacks_recording
        Whether the recording has still to be brought: a pack may come without it.
    said
        What came of the last file that was brought.
    section, stages
        The section that is looked at, and what of it can be opened: the next stage, and those before it,
        which may be changed again.
    other_key
        Whether another key can still be chosen: nothing is laid under the hand yet.
    finished
        Pieces that are done, to be looked at.
    in_hand
        Whether there is a piece in hand; else only finished ones are shown.
    """

    title: str
    standing: str
    action: str
    map: MapView = NO_MAP
    ideas: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    lacks_recording: bool = False
    said: str = ""
    section: str = ""
    stages: tuple[StageView, ...] = ()
    other_key: bool = False
    finished: tuple[FinishedView, ...] = ()
    in_hand: bool = True


def without_piece(progress: Progress, today: date) -> PageView[PieceView]:
    """Without a piece in hand: what is done can be looked at, and one is to be chosen."""
    standing = NO_PIECE if not progress.laid_aside else NO_PIECE + KEPT
    done = finished_pieces(progress, today)
    if not done:
        return Empty(standing, "Choose a piece")
    return Ready(PieceView("Your pieces", standing, "Choose a piece", finished=done, in_hand=False))


def finished_pieces(progress: Progress, today: date) -> tuple[FinishedView, ...]:
    """The pieces that are done, the last one first."""
    return tuple(
        FinishedView(piece.piece, piece.title, f"Done on {day_words(piece.finished_on, today)}.")
        for piece in reversed(progress.finished)
        if piece.finished_on is not None
    )


def stages_of(section: SectionState) -> tuple[StageView, ...]:
    """What of a section can be opened: its stages up to the next one."""
    reached = section.next_stage or Stage.PLAYED
    open_to = SECTION_STAGES[: SECTION_STAGES.index(reached) + 1]
    return tuple(
        StageView(stage, STAGE_WORDS[stage] + (" ✓" if section.cell(stage) is Cell.SETTLED else ""))
        for stage in open_to
    )


def key_is_next(piece: PieceState, section: SectionState) -> bool:
    """Whether a key has to be chosen before the section goes on: its tune is found, and there is none yet."""
    return piece.key is None and section.next_stage is not Stage.MELODY


def standing_of(piece: PieceState) -> str:
    """Where a piece stands, in one sentence."""
    if not piece.sections:
        beat = "find its beat and " if piece.grid is None else ""
        return f"Next, {beat}cut it into sections."
    done = sum(section.good_enough for section in piece.sections)
    if done == len(piece.sections):
        left = "your take is kept: call the piece done" if piece.takes else "record one whole take"
        return f"Every section is good enough: {left}."
    following = piece.next_section
    name = following.name if following is not None else ""
    if done == 0:
        return f"Section {name} is in work; {_notes_are(piece.notes_found)} found."
    are = "is" if done == 1 else "are"
    return f"{done} of {len(piece.sections)} sections {are} good enough. Section {name} is next."


def next_words(piece: PieceState) -> str:
    """Words of the next step's button."""
    if not piece.sections:
        return "Find the beat" if piece.grid is None else "Choose its bars"
    section = piece.next_section
    if section is None:
        return "Call it done" if piece.takes else "Record the take"
    if key_is_next(piece, section):
        return "Choose a key for your guitar"
    _, words = SCREEN_OF_STAGE[section.next_stage or Stage.PLAYED]
    return words.format(section.name)


def _notes_are(count: int) -> str:
    return "1 note is" if count == 1 else f"{count} notes are"
