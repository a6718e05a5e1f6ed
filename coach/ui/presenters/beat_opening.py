"""The beat that the player is asked about while a piece is chosen."""

from fractions import Fraction

from coach.pieces.beat_marks import BeatMarks
from coach.practice.piece_state import PieceState
from coach.sessions.piece.bringing_in import choices
from coach.sessions.piece.material import grid_of
from coach.sessions.practice_room import PracticeRoom
from coach.sessions.survey import ONES_OF, Survey
from coach.ui.presenters.beat_control import BeatControl
from coach.ui.presenters.beat_view import METERS
from coach.ui.presenters.choose_view import marks_of


def beat_to_decide(room: PracticeRoom, piece: PieceState, heard: Survey) -> BeatControl:
    """The beat that was decided before, else the one that was heard; a bundled piece's meter is known."""
    audio, found = room.recording().audio, marks_of(heard)
    known = next((each.meter for each in choices(room.services) if each.id == piece.bundled), None)
    meter = known or (heard.meter if heard.meter in METERS else METERS[0])
    ones, pickup = dict(zip(ONES_OF, heard.ones, strict=False)), Fraction(0)
    if piece.grid is not None and not piece.without_beats:
        meter, pickup, ones = str(piece.meter), piece.pickup, {}
        found = BeatMarks.of(grid_of(piece), piece.meter, pickup, audio.duration_s)
    return BeatControl(
        room.player,
        audio.mono,
        audio.rate_hz,
        found,
        meter=meter,
        pickup=pickup,
        found_s=heard.beats_s,
        ones=ones,
        volume_db=room.services.current_settings().volume_db,
    )
