"""``coach check``: whether a note is in the recording."""

import argparse
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from coach.cli.output import Output, TextProgress, UsageError, each_input
from coach.errors import InputError, NoteNameError
from coach.hearing.evidence import EvidenceModel, PitchEvidence, RecordingAnalysis, evidence
from coach.music import Pitch, Span
from coach.notation import LineKind
from coach.pieces.hints import ladder_offered
from coach.pieces.verdicts import Verdict, judge
from coach.sessions.ports import Jobs
from coach.sessions.recordings import analysed
from coach.sessions.services import Services

_SHARE_DIGITS = 4
MOST_QUERY_BYTES = 20_000_000
TOLD_EVERY = 500
"""Progress is told whenever so many more questions are answered."""


@dataclass(frozen=True, slots=True)
class Query:
    """A question about one note."""

    line: LineKind
    span: Span
    midi: int


def note(text: str) -> int:
    """Read a note name or MIDI number for argparse."""
    try:
        midi = Pitch.parse(text).midi
    except NoteNameError as error:
        raise argparse.ArgumentTypeError(error.message) from error
    if not 0 <= midi <= 127:
        raise argparse.ArgumentTypeError(f"“{text}” lies outside the MIDI notes 0 to 127")
    return midi


def seconds(text: str) -> float:
    """Read a time in seconds from the start for argparse."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not (math.isfinite(value) and value >= 0):
        raise argparse.ArgumentTypeError(f"“{text}” is not a time in seconds from the start")
    return value


def add_span_arguments(parser: argparse.ArgumentParser, *, required: bool) -> None:
    """Declare ``--line --from --to --note``."""
    parser.add_argument("--line", choices=[line.value for line in LineKind], required=required)
    parser.add_argument("--from", dest="from_s", type=seconds, required=required, metavar="S")
    parser.add_argument("--to", dest="to_s", type=seconds, required=required, metavar="S")
    parser.add_argument(
        "--note", type=note, required=required, metavar="NAME", help="such as E2, F#4, Bb3, or 0 to 127"
    )


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's words."""
    parser.add_argument("audio", metavar="AUDIO", help="a recording")
    add_span_arguments(parser, required=False)
    parser.add_argument(
        "--queries",
        metavar="FILE",
        help="many questions at once: a JSON list of line, from_s, to_s, note or midi",
    )


def query_of(args: argparse.Namespace) -> Query:
    """The question that the words ask; `UsageError` where the span is empty."""
    if not args.from_s < args.to_s:
        raise UsageError("--from must lie before --to.")
    return Query(LineKind(args.line), Span(args.from_s, args.to_s), args.note)


def run(args: argparse.Namespace, services: Services, out: Output) -> int:
    """Answer one question, or a file of them."""
    words = (args.line, args.from_s, args.to_s, args.note)
    if args.queries is None and any(word is None for word in words):
        raise UsageError("check needs --line, --from, --to and --note, or --queries FILE.")
    if args.queries is not None and any(word is not None for word in words):
        raise UsageError("--queries stands alone: leave out --line, --from, --to and --note.")
    queries = None if args.queries is None else read_queries(Path(args.queries))
    single = query_of(args) if queries is None else None
    model = services.evidence_model()

    jobs = TextProgress(out)

    def work(path: Path) -> None:
        analysis = analysed(services, path, jobs).analysis
        if single is not None:
            verdict = answer(analysis, model, single)
            out.value(value_of(verdict))
            out.text(text_of(verdict))
            return
        verdicts = answers(analysis, model, queries or (), jobs)
        out.value([value_of(verdict) for verdict in verdicts])
        for verdict in verdicts:
            out.text(text_of(verdict))
        if _many_on_one_span(verdicts):
            out.progress(
                "Six different notes or more were asked on one span: coach hint helps further there."
            )

    return each_input([args.audio], out, work)


def answer(analysis: RecordingAnalysis, model: EvidenceModel, query: Query) -> Verdict:
    """The verdict on one question."""
    return judge(evidence(analysis, model, query.line, query.span), query.midi)


def answers(
    analysis: RecordingAnalysis, model: EvidenceModel, queries: Sequence[Query], jobs: Jobs
) -> list[Verdict]:
    """The verdicts on many questions, in order; questions about one span share its evidence."""
    known: dict[tuple[LineKind, Span], PitchEvidence] = {}
    found = []
    for number, query in enumerate(queries, 1):
        key = (query.line, query.span)
        if key not in known:
            known[key] = evidence(analysis, model, query.line, query.span)
        found.append(judge(known[key], query.midi))
        if number % TOLD_EVERY == 0:
            jobs.progress(number / len(queries), "Answering")
    return found


def _many_on_one_span(verdicts: Sequence[Verdict]) -> bool:
    asked: dict[tuple[LineKind, Span], set[int]] = {}
    for verdict in verdicts:
        asked.setdefault((verdict.line, verdict.span), set()).add(verdict.midi)
    return any(ladder_offered(notes) for notes in asked.values())


def value_of(verdict: Verdict) -> dict[str, object]:
    """The JSON value of a verdict: no pitch but the one asked."""
    return {
        "line": verdict.line.value,
        "from_s": verdict.span.start_s,
        "to_s": verdict.span.end_s,
        "midi": verdict.midi,
        "verdict": verdict.outcome.value,
        "nearby": None if verdict.nearby is None else verdict.nearby.value,
        "confidence": round(verdict.confidence, _SHARE_DIGITS),
    }


def text_of(verdict: Verdict) -> str:
    """A verdict in a line for people."""
    name = Pitch.from_midi(verdict.midi).name
    return (
        f"{verdict.line.value} {verdict.span.start_s:.2f} to {verdict.span.end_s:.2f} s, {name}: "
        f"{verdict.sentence} ({verdict.confidence:.0%} sure)"
    )


def read_queries(path: Path) -> list[Query]:
    """Read a file of questions.

    Raises
    ------
    InputError
        If the file cannot be read.
    UsageError
        On a wrong question: an unknown line or note, a span that ends before it starts.
    """
    try:
        if path.stat().st_size > MOST_QUERY_BYTES:
            raise InputError(f"{path} is too large: ask at most 20 MB of questions at once.")
        raw = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise InputError(f"{path} cannot be read: name a file of questions.") from error
    except (ValueError, RecursionError) as error:
        raise UsageError(f"{path} is not JSON: give a list of questions.") from error
    if not isinstance(raw, list):
        raise UsageError(f"{path} must hold a list of questions.")
    return [_query(number, item) for number, item in enumerate(raw, 1)]


def _query(number: int, item: object) -> Query:
    if not isinstance(item, Mapping):
        raise UsageError(f"Question {number} is not an object with line, from_s, to_s and note.")
    try:
        line = _line(item["line"])
        span = Span(_time(item["from_s"]), _time(item["to_s"]))
        return Query(line, span, _midi(item))
    except KeyError as error:
        raise UsageError(f"Question {number} lacks {error}.") from error
    except (ValueError, NoteNameError) as error:
        raise UsageError(f"Question {number}: {error}") from error


def _line(raw: object) -> LineKind:
    for line in LineKind:
        if raw == line.value:
            return line
    raise ValueError(f"“{raw}” is not a line: write melody or bass")


def _time(raw: object) -> float:
    if isinstance(raw, bool) or not isinstance(raw, int | float) or not math.isfinite(raw) or raw < 0:
        raise ValueError(f"“{raw}” is not a time in seconds from the start")
    return float(raw)


def _midi(item: Mapping[str, object]) -> int:
    raw = item["midi"] if item.get("midi") is not None else item["note"]
    # A number becomes its digits, which Pitch reads; anything else (true, 60.5, a list) is no note there.
    midi = Pitch.parse(raw if isinstance(raw, str) else json.dumps(raw)).midi
    if not 0 <= midi <= 127:
        raise ValueError(f"“{raw}” lies outside the MIDI notes 0 to 127")
    return midi
