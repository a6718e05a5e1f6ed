"""What the segmenter expects of a source: plucked strings, a voice, or either."""

from dataclasses import dataclass

from coach.hearing.tracker import Source


@dataclass(frozen=True, slots=True)
class Manner:
    """Thresholds of the segmenter; all measured on development recordings, none from a published source.

    Parameters
    ----------
    plucked
        Whether an onset heralds a note that is decided from what is new in the sound.
    beats
        Whether what sounded before may ring on close by, so that frames between the two belong to neither; a
        voice glides there.
    agree_cents
        Frames of one note lie no further apart than this.
    leave_cents
        A pitch further than this from the note under way is another note, if it stays.
    steady_frames
        Frames that must agree before a note is decided after an onset where one alone does not settle it.
    unheralded_frames
        Frames that must agree before a note is decided that no onset heralded.
    change_frames
        Frames off the note under way that make a new one without an onset.
    silent_frames
        Unvoiced frames in a row that end a note.
    again_strength
        Onset strength from which the same pitch counts as struck again however little was added.
    again_after_s
        A note this young is not struck again: a voice grows from its consonant into its vowel.
    fades_db
        By so much a note has fallen from its loudest before it can be struck again: all that is struck falls
        (by 0.5 dB or more in each of 97 repeats), of sung vowels that change half stay where they are.
    dip_db
        How far a voice sinks between two notes of the same pitch.
    rise_db
        How much the partials of a new pitch must rise when no onset heralds it.
    below_db
        A note that is softer than the player's loudest recent one by more than this is someone else's. At
        16 dB plucks of everyday loudness are all kept; at 18.5 half as much more of a piano 20 dB under the
        player is taken for notes.
    """

    plucked: bool
    beats: bool
    agree_cents: float
    leave_cents: float
    steady_frames: int
    unheralded_frames: int
    change_frames: int
    silent_frames: int
    again_strength: float
    again_after_s: float
    fades_db: float
    dip_db: float
    rise_db: float
    below_db: float


MANNERS: dict[Source, Manner] = {
    "guitar": Manner(
        plucked=True,
        beats=True,
        agree_cents=45.0,
        leave_cents=65.0,
        steady_frames=2,
        unheralded_frames=4,
        change_frames=4,
        silent_frames=6,
        again_strength=0.25,
        again_after_s=0.1,
        fades_db=-100.0,
        dip_db=5.0,
        rise_db=3.0,
        below_db=16.0,
    ),
    "voice": Manner(
        plucked=False,
        beats=False,
        agree_cents=60.0,
        leave_cents=80.0,
        steady_frames=3,
        unheralded_frames=3,
        change_frames=5,
        silent_frames=4,
        again_strength=0.50,
        again_after_s=0.2,
        fades_db=-100.0,
        dip_db=5.0,
        rise_db=3.0,
        below_db=25.0,
    ),
    "any": Manner(
        plucked=True,
        beats=False,
        agree_cents=50.0,
        leave_cents=70.0,
        steady_frames=2,
        unheralded_frames=4,
        change_frames=5,
        silent_frames=5,
        again_strength=0.25,
        again_after_s=0.2,
        fades_db=0.5,
        dip_db=5.0,
        rise_db=3.0,
        below_db=20.0,
    ),
}
