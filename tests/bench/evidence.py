"""Measure the verdicts: ``python -m tests.bench.evidence DATA [--share report] [--peers] [--jitter .06]``.

DATA holds recordings with a JSON beside each: ``notes`` as [onset s, duration s, MIDI, role], role ``mel``
and ``bass`` the two lines. Six questions a note: the true one, and one wrong one of each of five kinds (a
semitone, a tone, an octave off, another sounding pitch class, a random one). ``false`` is the share of wrong
ones answered *heard*. Peers, in the same run: the strongest peak (melody), the lowest strong peak (bass),
chroma, pYIN (librosa's, after Mauch & Dixon 2014).
"""

import argparse
import json
import random
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path
from time import process_time

import numpy as np
import soundfile

from coach.errors import UnreadableFileError
from coach.hearing.evidence import (
    EvidenceModel,
    PitchEvidence,
    RecordingAnalysis,
    SettledNote,
    analyse,
    clarity,
    evidence,
)
from coach.music.span import Span
from coach.notation.line import LineKind
from coach.pieces.hints import HintStep, hint
from coach.pieces.verdicts import Outcome, judge

ROLE = {"mel": LineKind.MELODY, "bass": LineKind.BASS}
ALONE = ("piano", "guitar")
"""Ensembles of one sound: there the melody is what sounds highest, and nothing else can be asked."""
KINDS = ("true", "semitone", "tone", "octave", "chord", "random")


@dataclass(frozen=True, slots=True)
class Question:
    line: LineKind
    span: Span
    midi: int
    asked: dict[str, int]


@dataclass(slots=True)
class Tally:
    """Counts of kinds and answers."""

    rows: list[tuple[str, str, float]]

    def line(self) -> str:
        answered = [(k, o) for k, o, _ in self.rows if o != "cannot_tell"]
        true = [o for k, o, _ in self.rows if k == "true"]
        wrong = [(k, o) for k, o, _ in self.rows if k != "true"]
        right = np.mean([o == WANTED[k] for k, o in answered]) if answered else float("nan")
        by_kind = " ".join(
            f"{kind[:4]} {np.mean([o == 'heard' for k, o in wrong if k == kind] or [0]):.4f}"
            for kind in KINDS[1:]
        )
        false = np.mean([o == "heard" for _, o in wrong])
        cannot = 1 - len(answered) / len(self.rows)
        heard = np.mean([o == "heard" for o in true])
        denied = np.mean([o in {"not_heard", "other_octave"} for o in true])
        return (
            f"n {len(self.rows):6d} right {100 * right:6.2f} false {100 * false:5.2f} "
            f"cannot {100 * cannot:5.1f} heard {100 * heard:5.1f} denied {100 * denied:5.2f} [{by_kind}]"
        )


WANTED = {"true": "heard", "octave": "other_octave", "semitone": "not_heard", "tone": "not_heard",
          "chord": "not_heard", "random": "not_heard"}  # fmt: skip


def questions(
    notes: list, duration_s: float, jitter_s: float, rng: random.Random, kind: str = ""
) -> list[Question]:
    """Six questions for each note of both lines that the contract covers."""
    found = []
    for start, length, midi, role in notes:
        end = min(start + length, duration_s)
        if role not in ROLE or end - start < 0.1:
            continue
        around = [n for n in notes if n[0] < end and n[0] + n[1] > start]
        if role == "bass" and any(
            n[2] < midi and min(end, n[0] + n[1]) - max(start, n[0]) > 0.3 * (end - start) for n in around
        ):
            continue
        if (
            role == "mel"
            and kind.rstrip("*") in ALONE
            and any(
                n[2] > midi and min(end, n[0] + n[1]) - max(start, n[0]) > 0.3 * (end - start) for n in around
            )
        ):
            continue
        low, high = max(0.0, start + rng.uniform(-jitter_s, jitter_s)), end + rng.uniform(-jitter_s, jitter_s)
        if high - low < 0.1:
            low, high = start, end
        asked = {"true": midi, "semitone": midi + rng.choice((-1, 1)), "tone": midi + rng.choice((-2, 2)),
                 "octave": midi + rng.choice((-12, 12))}  # fmt: skip
        chord = sorted({n[2] for n in around if (n[2] - midi) % 12})
        if chord:
            asked["chord"] = rng.choice(chord)
        asked["random"] = rng.choice(
            [m for m in range(midi - 14, midi + 15) if (m - midi) % 12 and abs(m - midi) > 2]
        )
        found.append(
            Question(ROLE[role], Span(low, high), midi, {k: m for k, m in asked.items() if 0 <= m <= 127})
        )
    return found


def recordings(data: Path, share: str) -> list[tuple[str, str, Path, list, float | None]]:
    found = []
    for facts_path in sorted(data.glob(f"{share}*.json")):
        facts = json.loads(facts_path.read_text())
        audio = [p for p in (facts_path.with_suffix(s) for s in (".mp3", ".wav", ".flac")) if p.exists()]
        if isinstance(facts, dict) and "notes" in facts and audio:
            kind = facts.get("cat") or facts.get("kind") or "any"
            if facts.get("font") == "computed":
                kind += "*"
            found.append((facts_path.stem, kind, audio[0], facts["notes"], facts.get("rate_hz")))
    return found


def kept_analysis(path: Path | None) -> RecordingAnalysis | None:
    """What an earlier run kept, ``None`` if there is none or it is of another version."""
    if path is None or not path.exists():
        return None
    try:
        return RecordingAnalysis.from_bytes(path.read_bytes())
    except UnreadableFileError:
        return None


def analysis_of(
    path: Path, rate_hz: float | None, kept: Path | None
) -> tuple[RecordingAnalysis, np.ndarray | None, float, float]:
    """The analysis, samples, rate, and seconds it took (0 when kept)."""
    known = kept_analysis(kept)
    if known is not None:
        return known, None, 0.0, 0.0
    sound, rate = soundfile.read(path, dtype="float32", always_2d=True)
    mono = sound.mean(axis=1)
    began = process_time()
    made = analyse(mono, rate_hz or rate)
    took = process_time() - began
    if kept is not None:
        kept.write_bytes(made.to_bytes())
    return made, mono, rate_hz or rate, took


def hints_of(found: PitchEvidence, question: Question) -> dict[str, list[bool | None]]:
    """For each wrong note: whether the hint was right, ``None`` where it was not given."""
    out: dict[str, list[bool | None]] = defaultdict(list)
    for kind, midi in question.asked.items():
        if kind == "true":
            continue
        told = hint(found, midi, HintStep.REVEAL)
        up = question.midi > midi
        out["direction"].append(None if told.direction is None else (told.direction == "higher") == up)
        out["near"].append(
            None if told.within_a_tone is None else told.within_a_tone == (abs(question.midi - midi) <= 2)
        )
        out["reveal"].append(None if told.midi is None else told.midi == question.midi)
    return out


def peers(mono: np.ndarray, rate: float, question: Question, pitches: np.ndarray | None) -> dict[str, object]:
    """What simple methods say about the span: a pitch, or for chroma a set of pitch classes."""
    low, high = int(question.span.start_s * rate), int(question.span.end_s * rate)
    piece = mono[max(0, low) : high]
    spectrum = np.abs(np.fft.rfft(piece * np.hanning(len(piece)), max(32768, len(piece))))
    hz = np.fft.rfftfreq(max(32768, len(piece)), 1 / rate)
    at = (hz > 38) & (hz < 2700)
    inner = spectrum[1:-1]
    peak = np.concatenate(([False], (inner > spectrum[:-2]) & (inner >= spectrum[2:]), [False])) & at
    places = np.nonzero(peak & (spectrum > 0.1 * spectrum[at].max()))[0]
    midi = np.round(69 + 12 * np.log2(hz[places] / 440)).astype(int)
    out: dict[str, object] = {}
    if question.line is LineKind.MELODY:
        out["strongest"] = int(midi[np.argmax(spectrum[places])]) if len(midi) else None
    else:
        out["lowest"] = int(midi.min()) if len(midi) else None
    chroma = np.zeros(12)
    for m, p in zip(midi, places, strict=True):
        chroma[m % 12] += spectrum[p] ** 2
    out["chroma"] = {int(k) for k in np.nonzero(chroma > 0.36 * chroma.max())[0]}
    if pitches is not None:
        frames = pitches[int(question.span.start_s / 0.0232) : int(question.span.end_s / 0.0232) + 1]
        voiced = frames[np.isfinite(frames)]
        out["pyin"] = int(np.round(np.median(voiced))) if len(voiced) > 0.3 * len(frames) else None
    return out


def peer_answer(said: object, midi: int) -> str:
    if said is None:
        return "cannot_tell"
    if isinstance(said, set):
        return "heard" if midi % 12 in said else "not_heard"
    if said == midi:
        return "heard"
    return "other_octave" if (int(str(said)) - midi) % 12 == 0 else "not_heard"


def pyin(mono: np.ndarray, rate: float) -> np.ndarray:
    import librosa  # noqa: PLC0415

    hz, _, _ = librosa.pyin(
        mono, fmin=40, fmax=2000, sr=rate, frame_length=4096, hop_length=int(0.0232 * rate)
    )
    return 69 + 12 * np.log2(hz / 440)


def _hinted(rights: list[bool | None]) -> str:
    given = [r for r in rights if r is not None]
    return f"right {100 * np.mean(given or [0]):.2f} given {100 * len(given) / max(1, len(rights)):.1f}"


def settled(notes: list, line: LineKind) -> tuple[SettledNote, ...]:
    """The other line as a player who has settled it knows it."""
    return tuple(
        SettledNote(Span(start, start + length), midi)
        for start, length, midi, role in notes
        if role in ROLE and ROLE[role] is not line
    )


@dataclass(slots=True)
class Measured:
    """All that one run counts."""

    tallies: dict[tuple[str, str], Tally]
    told: dict[str, dict[str, list[bool | None]]]
    clear: list[tuple[float, float, float, float, float]]
    seconds: dict[str, float]


def measure(words: argparse.Namespace, model: EvidenceModel) -> Measured:
    done = Measured(
        defaultdict(lambda: Tally([])), {line: defaultdict(list) for line in LineKind}, [], defaultdict(float)
    )
    rng = random.Random(2)
    for name, kind, path, notes, rate_hz in recordings(words.data, words.share)[:: words.every]:
        kept = words.keep / f"{name}.analysis" if words.keep and not words.peers else None
        analysis, mono, rate, took = analysis_of(path, rate_hz, kept)
        done.seconds["sound"] += analysis.duration_s if took else 0.0
        done.seconds["analysis"] += took
        pitches = pyin(mono, rate) if words.peers and mono is not None else None
        here = Tally([])
        melody_heard = []
        for question in questions(notes, analysis.duration_s, words.jitter, rng, kind):
            began = process_time()
            other = settled(notes, question.line) if words.settled else ()
            found = evidence(analysis, model, question.line, question.span, other_line=other)
            done.seconds["queries"] += process_time() - began
            done.seconds["count"] += 1
            peer = peers(mono, rate, question, pitches) if words.peers and mono is not None else {}
            for asked, midi in question.asked.items():
                verdict = judge(found, midi)
                row = (asked, verdict.outcome.value, verdict.confidence)
                for tally in (done.tallies[question.line, "all"], done.tallies[question.line, kind], here):
                    tally.rows.append(row)
                for who, said in peer.items():
                    done.tallies[question.line, f"peer {who}"].rows.append(
                        (asked, peer_answer(said, midi), 0.0)
                    )
            for step, rights in hints_of(found, question).items():
                done.told[question.line][step] += rights
            if question.line is LineKind.MELODY:
                melody_heard.append(judge(found, question.midi).outcome is Outcome.HEARD)
        if melody_heard:
            clear = clarity(analysis, model)
            true = [o != "cannot_tell" for k, o, _ in here.rows if k == "true"]
            every = [o != "cannot_tell" for _, o, _ in here.rows]
            shares = [float(np.mean(v)) for v in (melody_heard, true, every)]
            done.clear.append((clear.melody, clear.checkable_share, *shares))
    return done


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("data", type=Path)
    parser.add_argument("--model", type=Path, default=Path("assets/evidence.json"))
    parser.add_argument("--share", default="")
    parser.add_argument("--jitter", type=float, default=0.06)
    parser.add_argument("--peers", action="store_true")
    parser.add_argument("--settled", action="store_true", help="the other line is known")
    parser.add_argument("--every", type=int, default=1, help="measure each so-manieth recording only")
    parser.add_argument("--keep", type=Path, help="keep analyses in this folder")
    words = parser.parse_args()
    done = measure(words, EvidenceModel.from_json(words.model.read_bytes()))
    for (line, group), tally in sorted(done.tallies.items()):
        print(f"{line:7s}{group:18s}{tally.line()}")
    for line, steps in done.told.items():
        print(line, "hints:", "; ".join(f"{step} {_hinted(rights)}" for step, rights in steps.items()))
    for line in LineKind:
        calibration(done.tallies[line, "all"], line)
    survey(done.clear)
    if done.seconds["analysis"]:
        print(f"analysis {done.seconds['sound'] / done.seconds['analysis']:.0f} x real time, of one core")
    print(f"{1000 * done.seconds['queries'] / max(1, done.seconds['count']):.1f} ms of one core a query")


def survey(clear: list[tuple[float, float, float, float, float]]) -> None:
    """How well clarity ranks recordings, and how near the checkable share comes to what was answered."""
    from scipy.stats import spearmanr  # noqa: PLC0415

    table = np.array(clear)
    if len(table) > 3:
        rank = float(spearmanr(table[:, 0], table[:, 2]).statistic)
        for name, column in (("true notes", 3), ("all questions", 4)):
            off = np.abs(table[:, 1] - table[:, column])
            within = 100 * (off <= 0.1).mean()
            print(f"checkable against answered {name}: mean off {off.mean():.3f}, within .1 {within:.0f} %")
        print(f"melody clarity against true notes heard: Spearman {rank:.2f}, {len(table)} recordings")


def calibration(tally: Tally, line: str) -> None:
    """Of answers given with a confidence, the share that was right."""
    out = []
    for low, high in (
        (0.5, 0.8),
        (0.8, 0.9),
        (0.9, 0.95),
        (0.95, 0.98),
        (0.98, 0.99),
        (0.99, 0.995),
        (0.995, 1.01),
    ):
        here = [(k, o) for k, o, c in tally.rows if low <= c < high and o != "cannot_tell"]
        if here:
            out.append(
                f"{low}-{min(high, 1)}: {np.mean([o == WANTED[k] for k, o in here]):.3f} ({len(here)})"
            )
    print(line, "calibration:", "; ".join(out))


if __name__ == "__main__":
    main()
