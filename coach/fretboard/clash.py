"""Wishes that cannot all be kept: which ones stand against each other."""

from collections.abc import Sequence

from coach.fretboard.least import Fits, least_price
from coach.fretboard.score import Score
from coach.fretboard.stops import Neck
from coach.fretboard.wishes import NO_WISHES, Wish, Wishes
from coach.notation.arrangement import Arrangement

MOST_PAIRED = 16
"""With more wishes than these not every pair is tried: it would take too long."""


class _Trial:
    """Whether two lines can be played as they are under some of the wishes."""

    def __init__(self, neck: Neck, arrangement: Arrangement) -> None:
        self._score = Score.of(arrangement)
        self._fits = {barred: Fits(neck, no_barre=barred) for barred in (False, True)}

    def keeps(self, wishes: Wishes) -> bool:
        return least_price(self._score, self._fits[wishes.no_barre], wishes).price is not None


def clash(neck: Neck, arrangement: Arrangement, wishes: Wishes) -> tuple[Wish, ...]:
    """A smallest set of wishes that cannot be kept together, in the order of `Wishes.singly`.

    Empty if all can be kept, or if the lines cannot be played even without a wish: then it is not for the
    wishes. Of sets with three wishes and more, none can be left out, but a smaller one may exist elsewhere.
    """
    trial = _Trial(neck, arrangement)
    if trial.keeps(wishes) or not trial.keeps(NO_WISHES):
        return ()
    return _smallest(trial, wishes.singly())


def playable(neck: Neck, arrangement: Arrangement, wishes: Wishes) -> bool:
    """Whether two lines can be played as they are under some wishes; quicker than to finger them."""
    return _Trial(neck, arrangement).keeps(wishes)


def keepable(neck: Neck, arrangement: Arrangement, wishes: Wishes) -> Wishes:
    """As many of the wishes as can be kept, the later ones of each clash given up first; all, if they can."""
    kept = wishes
    while found := clash(neck, arrangement, kept):
        kept = kept.without(found[-1])
    return kept


def _smallest(trial: _Trial, wishes: Sequence[Wish]) -> tuple[Wish, ...]:
    needed = list(wishes)
    for wish in wishes:
        fewer = [other for other in needed if other != wish]
        if not trial.keeps(Wishes.of(fewer)):
            needed = fewer
    if len(needed) > 1:
        alone = (wish for wish in wishes if not trial.keeps(Wishes.of([wish])))
        single = next(alone, None)
        if single is not None:
            return (single,)
    if len(needed) > 2 and len(wishes) <= MOST_PAIRED:
        pairs = ((one, other) for at, one in enumerate(wishes) for other in wishes[at + 1 :])
        pair = next((pair for pair in pairs if not trial.keeps(Wishes.of(pair))), None)
        if pair is not None:
            return pair
    return tuple(needed)
