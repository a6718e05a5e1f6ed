"""What both lines on the neck are looked at for: opening, searching, the player's wishes, taking back.

`coach.ui.presenters.together` adds the moment, the moves and the view.
"""

from abc import abstractmethod
from dataclasses import replace

from typing_extensions import override

from coach.errors import CoachError
from coach.fretboard import Blocked, Wishes
from coach.fretboard.wishes import Wish
from coach.notation import Arrangement
from coach.pieces.change_search import Proposal
from coach.sessions.piece.neck_desk import Hand, NeckDesk
from coach.sessions.piece.neck_exploring import Exploring, Sight
from coach.sessions.ports import Jobs, UiCalls
from coach.sessions.practice_room import PracticeRoom
from coach.ui.context import Go
from coach.ui.jobs import JobRunner
from coach.ui.presenters.neck_words import cost_words
from coach.ui.presenters.piece_page import PiecePagePresenter
from coach.ui.presenters.search_hooks import hooks_of
from coach.ui.presenters.together_view import LOOKING, TogetherView, Tool
from coach.ui.presenters.wish_words import clash_words, wish_words

STILL_LOOKING = "I am still looking for a smaller change."


class WishingPresenter(PiecePagePresenter[TogetherView]):
    """One section on the neck, under the player's wishes; every one of them is logged at once."""

    def __init__(self, room: PracticeRoom, section: str, later: UiCalls, jobs: JobRunner, go: Go) -> None:
        opening, failure = "Looking for the easiest way to play it", "No fingering could be found."
        super().__init__(room, section, later, jobs, go, opening=opening, failure=failure)
        self._desk = NeckDesk(room.journal, Hand.of(self._settings), section)
        self._sight: Sight | None = None
        self._before: list[Sight] = []
        self._searching = self._early = False
        self._tool = Tool.STEPS

    @abstractmethod
    def _opening_words(self, sight: Sight) -> str:
        """What is said when the section was opened."""

    # --- looking ------------------------------------------------------------------------------------------

    def _look(self, wishes: Wishes, by: str = "choice") -> None:
        first, self._searching, self._early = self._sight is None, True, False
        before = self._sight

        def early(way: Proposal) -> None:
            self._later.later(lambda: self._found_early(Sight.offering((way,), wishes, (), proven=False)))

        def look(jobs: Jobs) -> Sight:
            return self._desk.look(wishes, where_found=first, hooks=hooks_of(jobs, LOOKING, early))

        self._start(look, lambda sight: self._looked(sight, before, by))

    def _found_early(self, sight: Sight) -> None:
        if self._searching:
            self._sight, self._tool, self._said, self._early = sight, Tool.WAYS, STILL_LOOKING, True
            self._refresh()

    @override
    def _working(self, share: float, what: str) -> None:
        if not self._early:  # what is found already is better to look at
            super()._working(share, what)

    @override
    def _failed(self, error: CoachError) -> None:
        self._searching = self._early = False
        super()._failed(error)

    def _looked(self, sight: Sight, before: Sight | None, by: str) -> None:
        # What was answered to the player while the search went on is not taken from under their eyes.
        answered = self._said if self._early and self._said != STILL_LOOKING else ""
        self._searching = self._early = False
        self._said = answered or (self._opening_words(sight) if before is None else "")
        self._before += [before] if before is not None and by != "undo" else []
        self._sight = sight
        self._tool = Tool.WAYS if sight.blocked else self._tool
        if sight.clash is not None:
            self._said = clash_words(self._clash_said(sight))
            self._tool = Tool.WAYS if sight.offers else Tool.WISHES
        if before is not None:
            self._desk.keep(sight.wishes, by)
        self._refresh()

    # --- wishes -------------------------------------------------------------------------------------------

    def wish_below(self, fret: str) -> None:
        """Stay below a fret; ``0`` for any."""
        self._wish(replace(self._wishes, below_fret=int(fret) or None))

    def wish_barre(self, barre: str) -> None:
        """Whether the first finger may lie across two strings: ``yes`` or ``no``."""
        self._wish(replace(self._wishes, no_barre=barre == "no"))

    def let_go(self, index: str) -> None:
        """Let go of one of the wishes for single notes, by its number in the list that is shown."""
        wish = self._kept_one_by_one()[int(index)]
        self._wish(self._wishes.without(wish), by="release")

    def release(self, index: str) -> None:
        """Let go of one of the wishes that cannot be kept together; empty leaves all as it was before."""
        sight = self._sight
        if sight is None or sight.clash is None:
            return
        if not index:
            self._sight, self._said = replace(sight, clash=None), ""
            self._refresh()
            return
        clash = sight.clash
        self._wish(clash.asked.without(clash.between[int(index)]), by="release")

    def _wish(self, wishes: Wishes, by: str = "choice") -> None:
        """Keep other wishes, if they can be kept together; else ask which one is to go."""
        sight, shown = self._sight, self._shown
        if sight is None or (wishes == sight.wishes and sight.clash is None):
            return
        if shown is None or (sight.offers and replace(wishes, notes=()) != replace(sight.wishes, notes=())):
            self._look(wishes, by)  # with other changes, perhaps
            return
        after = shown.wishing(wishes)
        if isinstance(after, Blocked):
            between = shown.against(wishes)
            if len(between) > 1:
                self._ask(wishes, between)
            else:
                self._look(wishes, by)  # no wish of a single note is in the way: perhaps a change helps
            return
        said = cost_words(shown.fingering, after.fingering, after.arrangement, 0)
        self._change(sight.now(after), said, by)

    def _ask(self, wishes: Wishes, between: tuple[Wish, ...]) -> None:
        """Say which wishes stand against each other; nothing is changed before one is let go of."""
        if self._sight is not None:
            self._sight = self._sight.asking(wishes, between)
            self._said, self._tool = clash_words(self._clash_said(self._sight)), Tool.WISHES
            self._refresh()

    def forget_wishes(self) -> None:
        """The easiest way of all, as it is written."""
        self._look(Wishes(), "release")

    # --- taking back --------------------------------------------------------------------------------------

    def take_back(self) -> None:
        """As it was before the last move or wish; wishes of another day can be taken back as well."""
        before = self._desk.wishes_before
        if self._before:
            self._sight, self._said = self._before.pop(), ""
            self._desk.keep(self._sight.wishes, "undo")
            self._refresh()
        elif before is not None:
            self._look(before, "undo")

    @property
    def _can_take_back(self) -> bool:
        return bool(self._before) or self._desk.wishes_before is not None

    def _change(self, sight: Sight, said: str, by: str = "choice") -> None:
        if self._sight is not None:
            self._before.append(self._sight if self._sight.offers else replace(self._sight, clash=None))
        self._sight, self._said = sight, said
        self._desk.keep(sight.wishes, by)
        self._refresh()

    # --- what holds ---------------------------------------------------------------------------------------

    @property
    def _shown(self) -> Exploring | None:
        return self._sight.shown if self._sight is not None else None

    @property
    def _wishes(self) -> Wishes:
        return self._sight.wishes if self._sight is not None else Wishes()

    @property
    def _lines(self) -> Arrangement:
        return self._shown.arrangement if self._shown is not None else self._desk.arrangement

    def _kept_one_by_one(self) -> tuple[Wish, ...]:
        """The wishes for single notes."""
        return Wishes(self._wishes.notes).singly()

    def _words_of(self, wishes: tuple[Wish, ...]) -> tuple[str, ...]:
        naming = self._settings.naming
        return tuple(wish_words(wish, self._lines, naming) for wish in wishes)

    def _clash_said(self, sight: Sight) -> tuple[str, ...]:
        return self._words_of(sight.clash.between) if sight.clash is not None else ()
