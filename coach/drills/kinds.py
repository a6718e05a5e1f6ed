"""The kinds of drill, in the order in which they are met, and what is asked for in each."""

from enum import StrEnum
from typing import assert_never


class By(StrEnum):
    """What the player answers with."""

    VOICE = "voice"
    GUITAR = "guitar"


class Rule(StrEnum):
    """Which octaves of a note are right."""

    EXACT = "exact"
    ANY_OCTAVE = "any_octave"
    OCTAVE_UP_OK = "octave_up_ok"
    """The note itself or the one an octave above it."""


class AnswerForm(StrEnum):
    """What an answer consists of."""

    NOTES = "notes"
    ONSETS = "onsets"
    NAME = "name"
    PLACES = "places"


class Kind(StrEnum):
    """All kinds, in the order in which a player meets them (common practice, no source)."""

    SAME_HIGHER_LOWER = "same_higher_lower"
    MATCH_NOTE = "match_note"
    ECHO_NOTE = "echo_note"
    HOME_NOTE = "home_note"
    STEP_SKIP_REPEAT = "step_skip_repeat"
    DEGREE_OVER_DRONE = "degree_over_drone"
    INTERVAL_ECHO = "interval_echo"
    INTERVAL_FROM_NOTE = "interval_from_note"
    BASS_MOVES = "bass_moves"
    TAP_BASS_CHANGE = "tap_bass_change"
    TWO_NOTE_CHORD = "two_note_chord"
    CHORD_OUTER = "chord_outer"
    PHRASE_ECHO = "phrase_echo"
    RHYTHM_ECHO = "rhythm_echo"
    NATURAL_NOTES = "natural_notes"
    OTHER_PLACES = "other_places"
    PIECE_MOVES = "piece_moves"
    """Intervals from the next section of the piece in hand."""
    NAME_INTERVAL = "name_interval"

    @property
    def order(self) -> int:
        """Place in the order of meeting, from 0."""
        return list(Kind).index(self)

    @property
    def form(self) -> AnswerForm:
        """What an answer consists of."""
        match self:
            case Kind.SAME_HIGHER_LOWER | Kind.STEP_SKIP_REPEAT | Kind.NAME_INTERVAL:
                return AnswerForm.NAME
            case Kind.TAP_BASS_CHANGE | Kind.RHYTHM_ECHO:
                return AnswerForm.ONSETS
            case Kind.NATURAL_NOTES | Kind.OTHER_PLACES:
                return AnswerForm.PLACES
            case (
                Kind.MATCH_NOTE
                | Kind.ECHO_NOTE
                | Kind.HOME_NOTE
                | Kind.DEGREE_OVER_DRONE
                | Kind.INTERVAL_ECHO
                | Kind.INTERVAL_FROM_NOTE
                | Kind.BASS_MOVES
                | Kind.TWO_NOTE_CHORD
                | Kind.CHORD_OUTER
                | Kind.PHRASE_ECHO
                | Kind.PIECE_MOVES
            ):
                return AnswerForm.NOTES
            case _:
                assert_never(self)

    @property
    def tapped(self) -> bool:
        """Whether a finger on the screen can answer as well as voice or guitar can."""
        return self.form is not AnswerForm.NOTES

    def rule(self, by: By, *, lowest: bool = False) -> Rule:
        """Which octaves count.

        The voice may always answer in any octave, so may every answer to which no octave was given. The
        lowest note under a harmony may be played an octave higher; else the guitar is exact.
        """
        if self.form is not AnswerForm.NOTES:
            return Rule.EXACT
        if by is By.VOICE or self in {Kind.HOME_NOTE, Kind.DEGREE_OVER_DRONE}:
            return Rule.ANY_OCTAVE
        if self is Kind.BASS_MOVES or lowest:
            return Rule.OCTAVE_UP_OK
        return Rule.EXACT
