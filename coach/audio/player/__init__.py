"""The player of the workbench: sections rendered ahead, looped without a gap, one moment held."""

from coach.audio.player.section_player import SectionPlayer

__all__ = ["SectionPlayer"]
