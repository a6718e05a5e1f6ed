"""The tuner against Praat, on computed and on recorded strings: ``python -m tests.bench.tuner --seed 1``.

Computed strings obey Fletcher's formula with a random B out of the published range of their string (Fletcher
and Rossing; Järveläinen, Välimäki and Karjalainen 2001), detuned by up to 80 cents; the truth is f0. Recorded
ones are rendered from Debian's FluidR3 soundfont; what they sound is not known, so both references are shown:
Praat on the lowest five partials, and on all of them, where stiffness pulls it up (on computed strings, too).
Both from 0.3 to 1.5 s after the attack.
"""

import argparse
from collections.abc import Iterator

import numpy as np
import parselmouth
from numpy.typing import NDArray

from coach.hearing.tuner.tuned_strings import tune
from coach.music.tuning_system import midi_to_hz
from tests import synth
from tests.soundfont import NYLON, STEEL, recorded

STRINGS = {6: 40, 5: 45, 4: 50, 3: 55, 2: 59, 1: 64}
STIFFNESS = {
    6: (5e-5, 2e-4),
    5: (4e-5, 1.6e-4),
    4: (2e-5, 1e-4),
    3: (2e-5, 1.5e-4),
    2: (1.5e-5, 1e-4),
    1: (5e-6, 5e-5),
}
MOST_CENTS = 80.0
Sound = NDArray[np.float32]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rounds", type=int, default=4)
    args = parser.parse_args()
    rng = np.random.default_rng(args.seed)
    results: dict[str, dict[str, list[float]]] = {}
    missed: dict[str, int] = {}
    for number in range(args.rounds):
        for string in STRINGS:
            for condition, sound, truth in (
                *computed(string, rng),
                *(recordings(string) if not number else ()),
            ):
                lines = tune(sound, synth.RATE_HZ)
                right = [line for line in lines if line.string == string]
                missed[condition] = missed.get(condition, 0) + (len(lines) != 1 or not right)
                for name, cents in truth.items():
                    if right:
                        kept = results.setdefault(condition, {}).setdefault(name, [])
                        kept.append(abs(right[0].cents - cents))
    print(f"{'condition':<18}{'against':<22}{'n':>4}{'not one line':>14}{'median':>9}{'95 %':>8}{'most':>8}")
    for condition, references in results.items():
        for name, off in references.items():
            figures = f"{np.median(off):>9.2f}{np.percentile(off, 95):>8.2f}{max(off):>8.2f}"
            print(f"{condition:<18}{name:<22}{len(off):>4}{missed[condition]:>14}{figures}")


def computed(string: int, rng: np.random.Generator) -> Iterator[tuple[str, Sound, dict[str, float]]]:
    """One detuned string, clean and spoilt; what is known of it, and what Praat says, in cents."""
    cents = float(rng.uniform(-MOST_CENTS, MOST_CENTS))
    stiffness = float(np.exp(rng.uniform(*np.log(STIFFNESS[string]))))
    f0_hz = midi_to_hz(STRINGS[string] + cents / 100.0)
    place = float(rng.uniform(0.08, 0.3))
    tone = synth.pluck(f0_hz, 2.5, inharmonicity=stiffness, place=place, decay_s=float(rng.uniform(0.5, 2.0)))
    clean = synth.place([(0.5, tone)], 3.2)
    truth = {"Fletcher's f0": cents}
    yield "computed", clean, truth | {"Praat all": praat(clean, f0_hz, STRINGS[string])}
    for below_db in (20, 10):
        noise = synth.pink_noise(
            3.2, rms=10 ** (-below_db / 20) * _rms(tone), seed=int(rng.integers(1 << 30))
        )
        yield f"pink {below_db} dB", clean + noise, truth
    yield "small microphone", high_pass(clean, 250.0), truth


def recordings(string: int) -> Iterator[tuple[str, Sound, dict[str, float]]]:
    """The recorded string, nylon and steel."""
    midi = STRINGS[string]
    f0_hz = midi_to_hz(midi)
    for word, program in (("nylon", NYLON), ("steel", STEEL)):
        sound = recorded([(midi, 0.5, 2.4)], program=program)
        low = sound.copy()
        spectrum = np.fft.rfft(low)
        spectrum[round(5.5 * f0_hz * len(low) / synth.RATE_HZ) :] = 0.0
        low = np.asarray(np.fft.irfft(spectrum, len(low)), np.float32)
        five = {"Praat five partials": praat(low, f0_hz, midi)}
        yield f"recorded {word}", sound, five | {"Praat all": praat(sound, f0_hz, midi)}


def praat(sound: Sound, f0_hz: float, midi: int) -> float:
    """Median of Praat's pitch from 0.3 to 1.5 s after the attack at 0.5 s, cents over the string's note."""
    part = sound[round(0.8 * synth.RATE_HZ) : round(2.0 * synth.RATE_HZ)].astype(np.float64)
    pitch = parselmouth.Sound(part, synth.RATE_HZ).to_pitch_cc(
        time_step=0.01, pitch_floor=0.7 * f0_hz, pitch_ceiling=1.5 * f0_hz
    )
    hz = pitch.selected_array["frequency"]
    return float(np.median(1200 * np.log2(hz[hz > 0] / midi_to_hz(midi))))


def high_pass(sound: Sound, hz: float) -> Sound:
    """Second order: a small microphone hears no fundamental of the low strings."""
    spectrum = np.fft.rfft(sound)
    at_hz = np.fft.rfftfreq(len(sound), 1 / synth.RATE_HZ)
    return np.asarray(
        np.fft.irfft(spectrum / np.sqrt(1 + (hz / np.maximum(at_hz, 1)) ** 4), len(sound)), np.float32
    )


def _rms(sound: Sound) -> float:
    return float(np.sqrt(np.mean(sound[: synth.RATE_HZ] ** 2)))


if __name__ == "__main__":
    main()
