"""The stages of a section, in the order in which they are met."""

from enum import StrEnum


class Stage(StrEnum):
    """What is being done with a section; ``CHOOSE`` concerns the whole piece."""

    CHOOSE = "choose"
    MELODY = "melody"
    BASS = "bass"
    TOGETHER = "together"
    PLAYED = "played"


SECTION_STAGES = (Stage.MELODY, Stage.BASS, Stage.TOGETHER, Stage.PLAYED)
"""Each section goes through these four before the next section is begun."""
