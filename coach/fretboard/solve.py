"""The best fingering of two lines, or why there is none."""

from coach.fretboard.conflict import conflicts
from coach.fretboard.fingering import Blocked, Fingering
from coach.fretboard.least import Fits, least_price
from coach.fretboard.reach import STARTER, Reach
from coach.fretboard.reading import read
from coach.fretboard.score import AS_WRITTEN, Freedom, Score
from coach.fretboard.stops import Neck
from coach.fretboard.trellis import NeckTables, Trellis, sweep
from coach.fretboard.tuning import STANDARD, Tuning
from coach.fretboard.wishes import NO_WISHES, Wishes
from coach.notation.arrangement import Arrangement


def solve(
    arrangement: Arrangement,
    *,
    tuning: Tuning = STANDARD,
    capo: int | None = None,
    reach: Reach = STARTER,
    wishes: Wishes = NO_WISHES,
    freedom: Freedom = AS_WRITTEN,
) -> Fingering | Blocked:
    """Find the easiest fingering of the whole piece, exactly.

    Parameters
    ----------
    arrangement
        The two lines. Places that its notes carry are not looked at: see `chosen_places`.
    tuning, capo, reach
        The guitar and the hand; the capo of the arrangement by default.
    wishes
        What the player wants kept.
    freedom
        Changes to single bass notes that may be paid for where nothing else helps; the least price is found
        first, then the easiest fingering at that price.
    """
    neck = Neck(tuning, arrangement.capo if capo is None else capo, reach)
    return solve_with(NeckTables(neck), arrangement, wishes=wishes, freedom=freedom)


def solve_with(
    tables: NeckTables, arrangement: Arrangement, *, wishes: Wishes = NO_WISHES, freedom: Freedom = AS_WRITTEN
) -> Fingering | Blocked:
    """`solve` on a neck whose tables are kept from call to call."""
    fits = Fits(tables.neck, no_barre=wishes.no_barre)
    score = Score.of(arrangement, freedom)
    least = least_price(score, fits, wishes)
    if least.price is None:
        return Blocked(conflicts(arrangement, Score.of(arrangement), fits, wishes), tables.neck)
    trellis = Trellis.of(tables, score.strictly(least.changed), wishes)
    return read(arrangement, trellis, sweep(trellis).path())
