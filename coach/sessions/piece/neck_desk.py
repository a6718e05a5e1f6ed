"""Both lines on the neck: the best fingering, what cannot be reached, and the smallest change."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from coach.fretboard import (
    NO_WISHES,
    REACHES,
    Blocked,
    Explorer,
    Neck,
    NoteWish,
    Reach,
    Tuning,
    Wishes,
    chosen_places,
    hardest_bar,
)
from coach.fretboard.clash import clash, keepable
from coach.fretboard.difficulty import EASY
from coach.music.tuning_system import OCTAVE
from coach.notation import Arrangement
from coach.pieces.change_search import NO_HOOKS, Hooks, Proposal
from coach.pieces.changes import Mended, mend
from coach.practice.events import HandWished, KeyChosen, LineWritten, TogetherSettled
from coach.practice.piece_state import PieceState
from coach.practice.settings import Settings
from coach.sessions.journal import Journal
from coach.sessions.piece.material import record_of, section_of, whole_section
from coach.sessions.piece.neck_exploring import Clash, Exploring, Sight
from coach.sessions.piece.wished import settled_wishes, wished_event, wishes_of


@dataclass(frozen=True, slots=True)
class Hand:
    """Whose hand, on which guitar."""

    reach: Reach
    tuning: Tuning

    @classmethod
    def of(cls, settings: Settings) -> "Hand":
        """The player's own, by the settings."""
        return cls(REACHES[settings.reach], Tuning(settings.tuning))


class NeckDesk:
    """One section of the piece in hand on the neck.

    Parameters
    ----------
    journal
        Where accepted changes and the settled fingering go.
    hand
        Reach and tuning.
    section
        The section's name.
    """

    def __init__(self, journal: Journal, hand: Hand, section: str) -> None:
        self._journal = journal
        self.hand = hand
        self._section = section

    @property
    def arrangement(self) -> Arrangement:
        """Both lines of the section, on the piece's axis of quarters."""
        return whole_section(self._journal.piece_in_hand, self._section)

    def explore(self, wishes: Wishes = NO_WISHES, *, where_found: bool = False) -> Exploring | Blocked:
        """The section as it is written, to be explored; quick enough to do at once.

        Parameters
        ----------
        wishes
            What the player wants kept.
        where_found
            Whether it is shown with every note where the player found it, if the hand can play it so.
        """
        arrangement = self.arrangement
        neck = Neck(self.hand.tuning, arrangement.capo, self.hand.reach)
        easiest = Exploring.as_written(Explorer.on(neck, arrangement, wishes))
        if isinstance(easiest, Blocked) or not where_found:
            return easiest
        for places in self._found(arrangement, easiest.wishes.notes):
            kept = easiest.wishing(replace(easiest.wishes, notes=places))
            if isinstance(kept, Exploring):
                return easiest.showing(kept.fingering)
        return easiest

    def _found(
        self, arrangement: Arrangement, wanted: tuple[NoteWish, ...]
    ) -> Iterator[tuple[NoteWish, ...]]:
        """Where the notes were settled or found; not if something else was wanted since."""
        places = chosen_places(arrangement).notes
        fingers = settled_wishes(self._journal.piece_in_hand, arrangement, [self._section]).notes
        settled = Wishes.of((*places, *fingers)).notes
        if fingers and Wishes.of((*settled, *wanted)).notes == settled:
            yield settled
        if places and not wanted:
            yield places

    def ways(self, wishes: Wishes = NO_WISHES, *, hooks: Hooks = NO_HOOKS) -> Mended:
        """The easiest way to play it, with the smallest change where one is needed; nothing is applied."""
        return mend(
            self.arrangement,
            tuning=self.hand.tuning,
            reach=self.hand.reach,
            wishes=wishes,
            hooks=hooks,
        )

    def look(self, wishes: Wishes, *, where_found: bool = False, hooks: Hooks = NO_HOOKS) -> Sight:
        """How it can be played under some wishes; changes are looked for only where nothing else helps."""
        found = self.explore(wishes, where_found=where_found)
        if isinstance(found, Exploring):
            return Sight(found, wishes)
        against = Clash(wishes, clash(found.neck, self.arrangement, wishes))
        kept = keepable(found.neck, self.arrangement, wishes)
        if kept.below_fret == wishes.below_fret and kept.no_barre == wishes.no_barre and kept != wishes:
            nearest = self.explore(kept, where_found=where_found)
            if isinstance(nearest, Exploring):
                return Sight(nearest, kept, clash=against)
        mended = self.ways(replace(wishes, notes=()), hooks=hooks)
        offers = () if mended.best is None else (mended.best, *mended.alternatives)
        sight = Sight.offering(offers, wishes, found.conflicts, proven=mended.proven)
        return replace(sight, clash=against if against.between else None)

    @property
    def wishes(self) -> Wishes:
        """What the log says that the player wants kept."""
        steps = section_of(self._journal.piece_in_hand, self._section).wished
        return wishes_of(steps[-1] if steps else None, self.arrangement, self.hand.tuning)

    @property
    def wishes_before(self) -> Wishes | None:
        """What they wanted before that; ``None`` if it was nothing else."""
        steps = section_of(self._journal.piece_in_hand, self._section).wished
        before = wishes_of(steps[-2] if len(steps) > 1 else None, self.arrangement, self.hand.tuning)
        return before if before != self.wishes else None

    def keep(self, wishes: Wishes, by: str = "choice") -> None:
        """Log what the player wants kept from now on; nothing is written where it is wanted already."""
        piece = self._journal.piece_in_hand
        steps = section_of(piece, self._section).wished
        last = steps[-1] if steps else HandWished(piece.piece, self._section)
        event = wished_event(piece.piece, self._section, self.arrangement, wishes, by)
        if replace(event, by=last.by) != last:
            self._journal.write(event)

    def settle(self, way: Proposal) -> None:
        """Accept a way to play it: the lines are written as they will be played, and the stage is settled.

        Another key or capo holds for the whole piece from now on: all its lines move with it. (Another tuning
        is the player's setting and not the log's.)

        Raises
        ------
        ScopeError
            If both lines are not settled yet.
        """
        piece = self._journal.piece_in_hand
        self._journal.require_allowed(TogetherSettled(piece.piece, self._section))
        key = _key_of(way, self.arrangement, piece)
        if key is not None:
            self._journal.write(key)
        state = section_of(self._journal.piece_in_hand, self._section)
        played = {n.name: n for n in way.fingering.notes}
        for line in way.arrangement.lines:
            records = tuple(
                record_of(n.note, n.place, n.finger) for n in played.values() if n.line is line.kind
            )
            if records != state.line(line.kind.value).notes:
                self._journal.write(
                    LineWritten(piece.piece, self._section, line.kind.value, records, "together")
                )
        details = tuple(change.detail for change in way.changes)
        hardest = hardest_bar(way.fingering, way.arrangement)
        bar = hardest.bar if hardest is not None and hardest.word != EASY else None
        self._journal.write(TogetherSettled(piece.piece, self._section, details, bar))


def _key_of(way: Proposal, given: Arrangement, piece: PieceState) -> KeyChosen | None:
    """The piece's key and capo as a way changes them; ``None`` if it leaves them alone."""
    if (way.arrangement.key, way.arrangement.capo) == (given.key, given.capo):
        return None
    before = piece.key or KeyChosen(piece.piece, given.key.name, 0, 0, 0.0)
    pairs = zip(given.melody, way.arrangement.melody, strict=True)
    moved = next((after.midi - note.midi for note, after in pairs), 0)
    semitones = (moved + OCTAVE // 2) % OCTAVE - OCTAVE // 2
    shift = before.shift_semitones + semitones
    return replace(before, key=way.arrangement.key.name, capo=way.arrangement.capo, shift_semitones=shift)
