"""One way to play a section, open to the player's hand: move a note, and the rest is solved around it."""

from dataclasses import dataclass, replace
from fractions import Fraction

from coach.fretboard import (
    Blocked,
    Conflict,
    Explorer,
    FingeredNote,
    Fingering,
    NoteId,
    NoteWish,
    PlaceOption,
    Wishes,
)
from coach.fretboard.clash import clash, keepable, playable
from coach.fretboard.reach import FINGERS
from coach.fretboard.wishes import Wish
from coach.notation import Arrangement, LineKind, Place
from coach.pieces.change_kinds import FREE
from coach.pieces.change_search import Proposal


@dataclass(frozen=True, slots=True, eq=False)
class Exploring:
    """A way to play and all that it could become; nothing here changes, every move gives another one.

    Parameters
    ----------
    way
        The lines as they would sound, with the fingering that is shown.
    explorer
        The same lines on their neck under the player's wishes; its best fingering may be an easier one.
    """

    way: Proposal
    explorer: Explorer

    @classmethod
    def as_written(cls, explorer: Explorer) -> "Exploring | Blocked":
        """The easiest fingering under the explorer's wishes, or why there is none."""
        answer = explorer.answer()
        if isinstance(answer, Blocked):
            return answer
        return cls(Proposal(explorer.arrangement, answer, (), FREE), explorer)

    @classmethod
    def changed(cls, way: Proposal, wishes: Wishes) -> "Exploring":
        """A way with changes carried out; as many wishes for single notes hold on as can be kept there."""
        neck, lines = way.fingering.neck, way.arrangement
        held = replace(wishes, notes=tuple(_still(wish, way) for wish in wishes.notes))
        explorer = Explorer.on(neck, lines, keepable(neck, lines, held))
        answer = explorer.answer()
        fingering = answer if isinstance(answer, Fingering) else way.fingering
        return cls(replace(way, fingering=fingering), explorer)

    @property
    def fingering(self) -> Fingering:
        """The one that is shown."""
        return self.way.fingering

    @property
    def arrangement(self) -> Arrangement:
        """The lines as they sound this way."""
        return self.way.arrangement

    @property
    def wishes(self) -> Wishes:
        """What the player wants kept."""
        return self.explorer.wishes

    def sounding(self, time: Fraction) -> tuple[FingeredNote, ...]:
        """The one or two notes that sound at a musical time, melody before bass."""
        found = (n for n in self.fingering.notes if n.note.onset <= time < n.note.end)
        return tuple(sorted(found, key=lambda n: n.line is LineKind.BASS))

    def options(self, name: NoteId) -> tuple[PlaceOption, ...]:
        """Every place of a note, with its extra cost or what stands against it."""
        return self.explorer.options(name)

    def best(self, count: int) -> tuple[Fingering, ...]:
        """The best few fingerings under the wishes, the easiest first."""
        return self.explorer.best(count)

    def showing(self, fingering: Fingering) -> "Exploring":
        """The same with another of its fingerings shown."""
        return replace(self, way=replace(self.way, fingering=fingering))

    def moved_wishes(self, name: NoteId, place: Place) -> Wishes:
        """The wishes with a note at another place; a finger chosen for it holds on where it can go there."""
        finger = next((wish.finger for wish in self.wishes.notes if wish.note == name), None)
        held = self.wishes.with_note(NoteWish(name, place, finger))
        if finger is not None and playable(self.fingering.neck, self.arrangement, held):
            return held
        return self.wishes.with_note(NoteWish(name, place))

    def fingered_wishes(self, name: NoteId, finger: int) -> Wishes:
        """The wishes with another finger (1 to 4) for a note, where it lies."""
        return self.wishes.with_note(NoteWish(name, self.fingering.at(name).place, finger))

    def moved(self, name: NoteId, place: Place) -> "Exploring | Blocked":
        """With a note at another place."""
        return self.wishing(self.moved_wishes(name, place))

    def fingers(self, name: NoteId) -> tuple[int, ...]:
        """The fingers that can press a note where it lies, whatever else is wanted; none if it is open."""
        note = self.fingering.at(name)
        if note.finger is None:
            return ()
        trials = ((f, Wishes((NoteWish(name, note.place, f),))) for f in FINGERS)
        return tuple(f for f, alone in trials if playable(self.fingering.neck, self.arrangement, alone))

    def against(self, wishes: Wishes) -> tuple[Wish, ...]:
        """Which of some wishes cannot be kept together; empty if they can, or if it is not for them."""
        return clash(self.fingering.neck, self.arrangement, wishes)

    def wishing(self, wishes: Wishes) -> "Exploring | Blocked":
        """Under other wishes."""
        return self._at(self.explorer.wishing(wishes))

    def _at(self, explorer: Explorer) -> "Exploring | Blocked":
        answer = explorer.answer()
        if isinstance(answer, Blocked):
            return answer
        return Exploring(replace(self.way, fingering=answer), explorer)


def _still(wish: NoteWish, way: Proposal) -> NoteWish:
    """A wish for a note of a way: without its place, if the note has another pitch there by now."""
    place = wish.place
    if place is None:
        return wish
    neck = way.fingering.neck
    note = way.arrangement.line(wish.note.line).notes[wish.note.index]
    return wish if neck.open_midi(place.string) + place.fret == note.midi else replace(wish, place=None)


@dataclass(frozen=True, slots=True)
class Clash:
    """Wishes that cannot be kept together: all that were asked for, and the few that stand in the way."""

    asked: Wishes
    between: tuple[Wish, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Sight:
    """How a section can be played, as far as is known.

    Parameters
    ----------
    shown
        The way that is looked at; ``None`` where there is none.
    wishes
        What the player wants kept; where another change is only looked at, the explorer may keep fewer.
    blocked
        Why the lines cannot be played as they are written, a sentence each.
    offers
        Ways with changes, the smallest first; none is applied before the player has agreed.
    offer
        Which of them is shown.
    agreed
        Whether the player has agreed to the changes of the one shown; without any, or where they cost
        nothing, there is nothing to agree to.
    proven
        Whether all that could be tried was tried.
    clash
        What was asked for and cannot be kept, until the player has let go of something.
    """

    shown: Exploring | None
    wishes: Wishes
    blocked: tuple[str, ...] = ()
    offers: tuple[Proposal, ...] = ()
    offer: int = 0
    agreed: bool = True
    proven: bool = True
    clash: Clash | None = None

    @classmethod
    def offering(
        cls, offers: tuple[Proposal, ...], wishes: Wishes, conflicts: tuple[Conflict, ...], *, proven: bool
    ) -> "Sight":
        """What can be offered where the lines cannot be played as they are written."""
        why = tuple(conflict.reason for conflict in conflicts)
        nothing = cls(None, wishes, why, offers, proven=proven)
        return nothing.offered(0) if offers else nothing

    def offered(self, index: int) -> "Sight":
        """Another of the changes looked at."""
        way = self.offers[index]
        shown = Exploring.changed(way, self.wishes)
        return replace(self, shown=shown, offer=index, agreed=way.price == FREE)

    def now(self, shown: Exploring) -> "Sight":
        """The same lines played another way, under the wishes that hold there."""
        return replace(self, shown=shown, wishes=shown.wishes, clash=self.clash if self.offers else None)

    def asking(self, wishes: Wishes, between: tuple[Wish, ...]) -> "Sight":
        """The same with wishes asked for that cannot be kept together."""
        return replace(self, clash=Clash(wishes, between))
