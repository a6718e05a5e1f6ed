# ruff: noqa: PLC0415 - Kivy is imported when its environment stands
"""Eight bars sung and played through a real window: ``python -m tests.bench.capture_live FOLDER [--seed N]``.

A recording of two random lines at 70 quarter notes a minute is brought in. For each take (a sung melody, a
played melody, a played bass) the loop sounds once on the virtual loudspeaker, which the virtual microphone
hears as in a room, and then the simulated player gives the line back. At last nobody does: then nothing may
be written, and no pitch may have been heard. FOLDER gets the app's data, a folder a take. Needs PulseAudio.
"""

import argparse
import subprocess
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from random import Random
from typing import IO, Any

import numpy as np
import soundfile
from numpy.typing import NDArray

import tests.ui.conftest  # noqa: F401 - sets the environment before Kivy is imported
from coach.bootstrap import make_services
from coach.music import BeatGrid, Key, Meter
from coach.notation import Arrangement, Line, LineKind, Note
from coach.pieces.sections import BarRange
from coach.sessions.piece.beat_desk import BeatDesk
from coach.sessions.piece.bringing_in import import_recording
from coach.tones.learner import Manner, plucked, sung
from coach.tones.lines import arrangement_sound
from coach.tones.prompt import PromptNote
from tests.pulse import MICROPHONE, RATE_HZ, PrivatePulse, in_this_process
from tests.ui.driver import RealWindow, open_window

TEMPO_BPM, BARS, LEAD_S = 70.0, 8, 1.0
METER = Meter(4, 4)
GRID = BeatGrid.steady(TEMPO_BPM, LEAD_S)
HUMAN = Manner(timing_s=0.02)
LENGTHS = ["1", "1", "2", "1/2 1/2", "3/2 1/2", "1/2 1 1/2"]
BASS_LENGTHS = ["4", "2 2", "2 1 1", "3 1"]
PATIENCE_S = 150.0
MICROPHONE_LATE_S = 0.1
"""So much goes by until a sound that is fed in is heard."""
Written = tuple[Fraction, Fraction, int]


@dataclass(frozen=True, slots=True)
class Take:
    """One take: which line, and how it is given back; ``None``: not at all."""

    name: str
    kind: LineKind
    play: Callable[..., NDArray[np.float32]] | None


TAKES = (
    Take("sung melody", LineKind.MELODY, sung),
    Take("played melody", LineKind.MELODY, plucked),
    Take("played bass", LineKind.BASS, plucked),
    Take("nobody", LineKind.MELODY, None),
)


class Singer:
    """Whoever gives the line back: connected before, so that they come in when the line does."""

    def __init__(self, pulse: PrivatePulse) -> None:
        words = ["pacat", "--playback", f"--device={MICROPHONE}", "--format=float32le", f"--rate={RATE_HZ}"]
        words += ["--channels=1", "--latency-msec=400"]
        self._process = subprocess.Popen(words, env=pulse.env, stdin=subprocess.PIPE)

    def give(self, sound: NDArray[np.float32]) -> None:
        """Sound from now on."""
        pipe = self._process.stdin
        assert pipe is not None
        threading.Thread(target=_poured, args=(pipe, sound), daemon=True).start()

    def end(self) -> None:
        """Go."""
        self._process.terminate()
        self._process.wait()


def _poured(pipe: IO[bytes], sound: NDArray[np.float32]) -> None:
    with suppress(BrokenPipeError):  # they were sent away before the end
        pipe.write(sound.astype("<f4").tobytes())
        pipe.flush()


def a_line(rng: Random, kind: LineKind) -> Line:
    """Eight bars on a major scale, with notes tied over the beat."""
    melody = kind is LineKind.MELODY
    scale, place, at, notes = [0, 2, 4, 5, 7, 9, 11, 12], 2, Fraction(0), []
    low, end = (55 if melody else 40), METER.bar * BARS
    while at < end:
        for length in map(Fraction, rng.choice(LENGTHS if melody else BASS_LENGTHS).split()):
            place = min(7, max(0, place + rng.choice([-2, -1, 1, 2])))
            if at < end:
                notes.append(Note(at, min(length, end - at), Key("C", 0).spell(low + scale[place])))
            at += length
    return Line(kind, tuple(notes))


def take_in_hand(folder: Path, rng: Random) -> tuple[Any, Arrangement]:
    """A piece whose recording holds two random lines, its beat set and its eight bars one section."""
    tune = Arrangement("Live", METER, Key("C", 0), TEMPO_BPM).with_line(a_line(rng, LineKind.MELODY))
    both = tune.with_line(a_line(rng, LineKind.BASS))
    sound = arrangement_sound(both, RATE_HZ)
    silence = np.zeros((round(LEAD_S * RATE_HZ), 2), np.float32)
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / "recording.wav"
    soundfile.write(file, np.concatenate([silence, sound, silence]), RATE_HZ)
    services = make_services(folder / "data")
    return (services, file), both


def run(window: RealWindow, pulse: PrivatePulse, folder: Path, take: Take, rng: Random) -> str:
    """One take from bringing the recording in to the written line; its figures in a line."""
    from coach.ui.shell import CoachApp

    (services, file), both = take_in_hand(folder, rng)
    app = window.start(CoachApp(services, first="piece"))
    journal = app.room.journal
    import_recording(app.room.services, journal, file, title="Live")
    beats = int(METER.bar * BARS)
    taps_s = [GRID.second_of(Fraction(beat)) for beat in range(beats)]
    desk = BeatDesk(journal)
    desk.tap(taps_s, taps_s[0], METER, duration_s=soundfile.info(file).duration)
    desk.cut_at((BarRange("A", 1, BARS),))
    app.go("workbench", section="A", line=take.kind.value)
    until(window, lambda: "Listen" in window.buttons())
    app.frame.page.presenter.change_sound(speed=1.0)
    return _phrase(window, pulse, app, take, both.line(take.kind), rng)


def _phrase(window: RealWindow, pulse: PrivatePulse, app: Any, take: Take, line: Line, rng: Random) -> str:
    from coach.ui.presenters.phrase_control import BREATH_S, YOUR_TURN

    heard: list[bool] = []
    leave = app.frame.page.presenter.ear.subscribe(
        lambda hearing: heard.extend(frame.voiced for frame in hearing.chunk.frames)
    )
    joint, singer = pulse.join(), Singer(pulse)
    try:
        window.tap_words("Sing or play the phrase")
        until(window, lambda: YOUR_TURN in window.words())
        drawn = sum(heard)
        if take.play is not None:
            prompt = [
                PromptNote(n.midi, GRID.second_of(n.onset) - LEAD_S, GRID.second_of(n.end) - LEAD_S - 0.03)
                for n in line
            ]
            sound = take.play(prompt, RATE_HZ, rng, manner=HUMAN)
            lead = np.zeros(round((BREATH_S - MICROPHONE_LATE_S) * RATE_HZ), np.float32)
            singer.give(np.concatenate([lead, sound]))
        until(window, lambda: "notes down" in window.words() or "no note" in window.words())
        if take.play is None:
            drawn = sum(heard)
    finally:
        leave()
        singer.end()
        pulse.part(joint)
    got = [
        (n.onset, n.duration, n.midi)
        for n in app.room.journal.progress.piece.section("A").line(take.kind.value).notes
    ]
    return f"{take.name:14} {figures(line, got)}; voiced frames of the recording: {drawn}"


def figures(line: Line, got: list[Written]) -> str:
    """Shares of right pitches (onset and pitch) and right rhythm (length, too)."""
    placed = {(at, midi): length for at, length, midi in got}
    pitches = sum((n.onset, n.midi) in placed for n in line) / len(line)
    rhythm = sum(placed.get((n.onset, n.midi)) == n.duration for n in line) / len(line)
    return f"{len(line):3d} notes, {len(got):3d} written, pitches {pitches:.3f}, rhythm {rhythm:.3f}"


def until(window: RealWindow, condition: Callable[[], bool]) -> None:
    """Let time pass; an error with what is shown once patience is over."""
    give_up_s = time.monotonic() + PATIENCE_S
    while not condition():
        if time.monotonic() > give_up_s:
            raise TimeoutError(window.words())
        window.wait(0.02)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    window = open_window()
    with PrivatePulse() as pulse, in_this_process(pulse):
        for number, take in enumerate(TAKES):
            window.begin()
            folder = args.folder / f"{number}"
            print(run(window, pulse, folder, take, Random(100 * args.seed + number)), flush=True)
            window.end()


if __name__ == "__main__":
    main()
