"""Train the evidence model: ``python -m tests.bench.train_evidence CLIPS OUT.json [--epochs N] [--nets N]``.

CLIPS is the folder that ``render_clips`` filled. Learns on the share ``learn``, chooses temperature and bars
on ``choose``; ``tests.bench.evidence`` measures on ``report``. Needs torch, which nothing else does.

The loss is that of a conditional logit (McFadden 1974): a softmax over pitches, one a line; beside it the
layers learn which pitches sound at all. What is learned from is varied (see ``evidence_variety``). Networks
first learn on the plain clips, then on those and the rougher ``learn_more`` ones together; ``--start FILE``
takes up networks that have learned on the plain ones.
"""

import argparse
import hashlib
import json
import random
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter
from typing import Any

import numpy as np
import soundfile
import torch
from torch import nn

from coach.hearing.evidence.activations import LOWEST_MIDI, PITCHES
from coach.hearing.evidence.analysis import RecordingAnalysis, analyse
from coach.hearing.evidence.features import INPUTS, SLOTS, inputs, slots
from coach.hearing.evidence.network import FRAME_TAPS, SPAN_TAPS, Network, packed, unpacked
from coach.music.span import Span
from tests.bench.evidence import ALONE, kept_analysis
from tests.bench.evidence_bars import calibrated
from tests.bench.evidence_variety import moment, varied

LINES = ("mel", "bass")
RANGES = ((43, 100), (28, 76))
SIZE = 64
"""Examples a step."""
KEPT_UP = 0.25
"""Beside the rough clips, the share of the plain examples that each epoch takes again."""


@dataclass(frozen=True, slots=True)
class Example:
    clip: int
    line: int
    midi: int
    start_s: float
    end_s: float
    sounding: tuple[tuple[int, float, float], ...]


@dataclass(frozen=True, slots=True)
class Clip:
    name: str
    kind: str
    analysis: RecordingAnalysis
    notes: list


def load(folder: Path, share: str, limit: int | None = None) -> tuple[list[Clip], list[Example]]:
    """Analyse (once; kept beside the clip) and list every note of both lines."""
    clips, examples = [], []
    for facts_path in sorted(folder.glob(f"{share}_*.json"))[:limit]:
        facts = json.loads(facts_path.read_text())
        kept = facts_path.with_suffix(".analysis")
        analysis = kept_analysis(kept)
        if analysis is None:
            sound, _ = soundfile.read(facts_path.with_suffix(".wav"), dtype="float32")
            analysis = analyse(sound, facts["rate_hz"])
            kept.write_bytes(analysis.to_bytes())
        examples += examples_of(len(clips), facts["notes"], analysis.duration_s, facts["kind"])
        clips.append(Clip(facts_path.stem, facts["kind"], analysis, facts["notes"]))
    return clips, examples


def examples_of(clip: int, notes: list, duration_s: float, kind: str) -> list[Example]:
    """Every note of both lines, less those whose line could not be told from another of the same sound."""
    found = []
    for start, length, midi, role in notes:
        end = min(start + length, duration_s)
        line = LINES.index(role) if role in LINES else -1
        if line < 0 or end - start < 0.08 or not RANGES[line][0] <= midi <= RANGES[line][1]:
            continue
        near = tuple((m, s, s + n) for s, n, m, _ in notes if s < end + 0.2 and s + n > start - 0.2)
        shared = [(m, min(e, end) - max(s, start)) for m, s, e in near]
        if line == 1 and any(m < midi and both > 0.3 * (end - start) for m, both in shared):
            continue
        if line == 0 and kind in ALONE and any(m > midi and both > 0.3 * (end - start) for m, both in shared):
            continue
        found.append(Example(clip, line, midi, start, end, near))
    return found


class Tapped(torch.autograd.Function):
    """The values of the pitches ``taps`` away, side by side; its own way back is twice as quick."""

    @staticmethod
    def forward(ctx: Any, values: torch.Tensor, taps: tuple[int, ...]) -> torch.Tensor:
        ctx.taps, ctx.shape = taps, values.shape
        reach, count = max(abs(t) for t in taps), values.shape[1]
        padded = nn.functional.pad(values, (0, 0, reach, reach))
        return torch.cat([padded[:, reach + t : reach + t + count] for t in taps], dim=2)

    @staticmethod
    def backward(ctx: Any, grad: torch.Tensor) -> tuple[torch.Tensor, None]:
        spans, count, width = ctx.shape
        reach = max(abs(t) for t in ctx.taps)
        out = torch.zeros((spans, count + 2 * reach, width), dtype=torch.float32)
        for k, t in enumerate(ctx.taps):
            out[:, reach + t : reach + t + count] += grad[:, :, k * width : (k + 1) * width]
        return out[:, reach : reach + count].to(grad.dtype), None


class Net(nn.Module):
    def __init__(self, width: int = 32, span_width: int = 48) -> None:
        super().__init__()
        self.frame = nn.Linear(INPUTS, width)
        self.mix = nn.Linear(len(FRAME_TAPS) * width, width)
        self.pool = nn.Linear(9 * width + 1, span_width)
        self.sound = nn.Linear(span_width, 1)
        self.look = nn.Linear(len(SPAN_TAPS) * span_width, 32)
        self.gate = nn.Linear(span_width, 6)
        self.join = nn.Linear(span_width + 32 + 12, 32)
        self.lines = nn.Linear(32, 2)

    def forward(self, frames: torch.Tensor, length: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor]:
        channels = torch.relu(self.mix(Tapped.apply(torch.relu(self.frame(frames)), FRAME_TAPS)))
        slot = channels.reshape(len(length), SLOTS, PITCHES, -1)
        inside = slot[:, 2:8]
        place = torch.log10(length.clamp(0.05, 8.0))[:, None, None].expand(-1, PITCHES, 1)
        edges = [slot[:, k] for k in (0, 1, 2, 3, 7, 8, 9)]
        pooled = torch.relu(self.pool(torch.cat((inside.mean(1), inside.amax(1), *edges, place), dim=2)))
        look = torch.relu(self.look(Tapped.apply(pooled, SPAN_TAPS)))
        gate = torch.relu(self.gate(pooled))
        gate = gate / (1 + gate)
        below = torch.cumsum(gate, 1) - gate
        above = gate.sum(1, keepdim=True) - below - gate
        joined = torch.relu(
            self.join(torch.cat((pooled, look, torch.log1p(above), torch.log1p(below)), dim=2))
        )
        return self.lines(joined), self.sound(pooled)[:, :, 0]


def batch(clips: list[Clip], chosen: list[Example], rng: np.random.Generator, *, vary: bool) -> tuple:
    """Inputs, lengths, targets of some examples; spans jittered as a player's marks are."""
    seen, lengths, targets = [], [], []
    sounding = np.zeros((len(chosen), PITCHES), np.float32)
    for row, example in enumerate(chosen):
        spread = 0.06 if rng.random() < 0.6 else 0.14
        low, high = rng.uniform(-spread, spread, 2) if vary else (0.0, 0.0)
        start, end = max(0.0, example.start_s + low), example.end_s + high
        if end - start < 0.08:
            start, end = example.start_s, example.end_s
        analysis = clips[example.clip].analysis
        at = slots(Span(start, end), analysis.frames, rng.random() if vary else 0.5)
        move = int(rng.integers(-3, 4)) if vary and rng.random() < 0.3 else 0
        lowest, highest = RANGES[example.line]
        move = move if lowest <= example.midi + move <= highest else 0
        seen.append(varied(analysis, at, rng, move) if vary else moment(analysis, at))
        lengths.append(end - start)
        targets.append(example.midi + move - LOWEST_MIDI)
        for midi, s, e in example.sounding:
            place = midi + move - LOWEST_MIDI
            if 0 <= place < PITCHES and min(e, end) - max(s, start) > 0.45 * (end - start):
                sounding[row, place] = 1
    x = inputs(
        np.concatenate([m.levels for m in seen], axis=1),
        np.concatenate([m.before for m in seen]),
        np.concatenate([m.logs for m in seen]),
    )
    line = torch.tensor([e.line for e in chosen])
    target = torch.tensor(targets)
    return (
        torch.from_numpy(x),
        torch.tensor(lengths, dtype=torch.float32),
        line,
        target,
        torch.from_numpy(sounding),
    )


MASK = torch.zeros(2, PITCHES)
for _line, (_low, _high) in enumerate(RANGES):
    MASK[_line, : _low - LOWEST_MIDI] = -30.0
    MASK[_line, _high + 1 - LOWEST_MIDI :] = -30.0


def line_scores(scores: torch.Tensor, line: torch.Tensor) -> torch.Tensor:
    return scores[torch.arange(len(line)), :, line] + MASK[line]


def measure(
    net: Net, clips: list[Clip], examples: list[Example], seed: int
) -> tuple[list[float], list[float]]:
    """Log loss and share of right first choices, a line each."""
    net.eval()
    loss, right = [[], []], [[], []]
    rng = np.random.default_rng(seed)
    with torch.no_grad():
        for k in range(0, len(examples), 64):
            x, length, line, target, _ = batch(clips, examples[k : k + 64], rng, vary=False)
            scores = line_scores(net(x, length)[0], line)
            each = nn.functional.cross_entropy(scores, target, reduction="none")
            for li, value, hit in zip(
                line.tolist(), each.tolist(), (scores.argmax(1) == target).tolist(), strict=True
            ):
                loss[li].append(value)
                right[li].append(hit)
    return [float(np.mean(v)) for v in loss], [float(np.mean(v)) for v in right]


def _rough(clips: list[Clip], example: Example) -> bool:
    return "_more_" in clips[example.clip].name


def train(
    net: Net, epochs: int, seed: int, peak: float, learn: tuple, choose: tuple, told: list[str]
) -> None:
    """One stage: some epochs under a rate that rises to ``peak`` and falls to nothing."""
    torch.manual_seed(seed)
    rng, order = np.random.default_rng(seed), random.Random(seed)
    clips, examples = learn
    optimiser = torch.optim.AdamW(net.parameters(), lr=2e-3, weight_decay=1e-3)
    rough = [e for e in examples if _rough(clips, e)]
    again = [e for e in examples if not _rough(clips, e)]
    taken = int(KEPT_UP * len(again)) if rough else len(again)
    steps = epochs * ((len(rough) + taken) // SIZE)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimiser, peak, total_steps=steps + 1, pct_start=0.15)
    for epoch in range(epochs):
        net.train()
        began, total, count = perf_counter(), 0.0, 0
        mixed = rough + order.sample(again, taken)
        order.shuffle(mixed)
        for k in range(0, len(mixed) - SIZE + 1, SIZE):
            x, length, line, target, sounding = batch(clips, mixed[k : k + SIZE], rng, vary=True)
            with torch.autocast("cpu", dtype=torch.bfloat16):
                scores, sound = net(x, length)
            scores, sound = scores.float(), sound.float()
            loss = nn.functional.cross_entropy(line_scores(scores, line), target)
            extra = nn.functional.binary_cross_entropy_with_logits(sound, sounding)
            optimiser.zero_grad()
            (loss + 1.5 * extra).backward()
            nn.utils.clip_grad_norm_(net.parameters(), 2.0)
            optimiser.step()
            schedule.step()
            total, count = total + float(loss.detach()), count + 1
        losses, right = measure(net, choose[0], choose[1][::4], seed=1)
        told.append(
            f"seed {seed}, {len(mixed)} examples, epoch {epoch}: learn {total / max(1, count):.4f}; "
            f"choose melody {losses[0]:.4f} {right[0]:.4f}, bass {losses[1]:.4f} {right[1]:.4f}; "
            f"{perf_counter() - began:.0f} s"
        )
        print(told[-1], flush=True)


def as_json(net: Net) -> dict:
    return {
        name: {
            "weights": packed(layer.weight.detach().numpy().T),
            "biases": packed(layer.bias.detach().numpy()),
        }
        for name, layer in net.named_children()
        if name != "sound"
    }


def taken_up(kept: dict) -> Net:
    """A network as `as_json` left it; the part that is only for learning starts anew."""
    net = Net()
    with torch.no_grad():
        for name, layer in net.named_children():
            if name in kept:
                layer.weight.copy_(torch.from_numpy(unpacked(kept[name]["weights"]).T.copy()))
                layer.bias.copy_(torch.from_numpy(unpacked(kept[name]["biases"])))
    return net


def recalled(clips: list[Clip]) -> list[tuple[str, RecordingAnalysis, list]]:
    return [(clip.kind, clip.analysis, clip.notes) for clip in clips]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("clips", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--epochs", type=int, default=4, help="on the plain clips")
    parser.add_argument("--more-epochs", type=int, default=3, help="on all clips")
    parser.add_argument("--nets", type=int, default=2)
    parser.add_argument("--first-seed", type=int, default=0)
    parser.add_argument("--limit", type=int)
    parser.add_argument("--start", type=Path, help="networks that have learned on the plain clips")
    parser.add_argument(
        "--join", type=Path, nargs="*", default=[], help="models whose networks are joined in"
    )
    words = parser.parse_args()
    torch.set_num_threads(1)
    begun = json.loads(words.start.read_text()) if words.start else None
    choose, learn = load(words.clips, "choose", words.limit), load(words.clips, "learn", words.limit)
    print(len(learn[0]), "clips,", len(learn[1]), "examples; choose", len(choose[1]), flush=True)
    nets, told = [], []
    for other in words.join:
        joined = json.loads(other.read_text())
        nets += joined["networks"]
        told += joined["provenance"]["told"]
    told += begun["provenance"]["told"] if begun else []
    for k in range(words.nets):
        seed = words.first_seed + k
        torch.manual_seed(seed)
        net = taken_up(begun["networks"][k]) if begun else Net()
        if begun is None:
            plain = (learn[0], [e for e in learn[1] if not _rough(learn[0], e)])
            train(net, words.epochs, seed, 3e-3, plain, choose, told)
        if words.more_epochs:
            train(net, words.more_epochs, seed + 100, 2e-3, learn, choose, told)
        nets.append(as_json(net))
    summaries = [np.array([clip.analysis.summary for clip in clips]) for clips in (learn[0], choose[0])]
    kept = {
        "format": 1,
        "provenance": {
            "made_by": "tests/bench/train_evidence.py",
            "clips": provenance(learn[0], choose[0]),
            "told": told,
        },
        "networks": nets,
    }
    # Kept before the slow choice of bars too, so that it can be taken up with --join.
    words.out.write_text(json.dumps(kept, separators=(",", ":")) + "\n")
    kept |= calibrated([Network.from_json(net) for net in nets], recalled(choose[0]), *summaries)
    kept["version"] = hashlib.sha256(json.dumps(kept, sort_keys=True).encode()).hexdigest()[:12]
    words.out.write_text(json.dumps(kept, separators=(",", ":")) + "\n")


def provenance(learn: list[Clip], choose: list[Clip]) -> dict[str, str]:
    rough = sum("_more_" in clip.name for clip in learn)
    return {
        "made_by": "tests/bench/render_clips.py",
        "learn": f"{len(learn)} clips, {rough} of them rough: FluidR3_GM, sf_GMbank (csound), OPL-3_FM, "
        "a grand piano recorded by the University of Iowa's Electronic Music Studios, computed instruments",
        "choose": f"{len(choose)} clips: TimGM6mb, computed instruments of other seeds",
        "tunes": "music21 corpus (out of copyright) and random tunes of ours",
    }


if __name__ == "__main__":
    main()
