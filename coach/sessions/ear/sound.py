"""How a prompt sounds."""

from coach.drills.prompt import Prompt
from coach.sessions.ports import Samples
from coach.tones.rendering import render


def prompt_sound(prompt: Prompt, rate_hz: int, a4_hz: float) -> Samples:
    """Notes and clicks of a prompt as mono samples, shape (n,), as long as the prompt says."""
    return render(
        prompt.notes,
        prompt.timbre,
        rate_hz,
        a4_hz=a4_hz,
        clicks=prompt.clicks,
        length_s=prompt.sound_s,
    )
