"""The steps of the demonstration, from the recording to the printed sheet."""

from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from random import Random

from coach.errors import CoachError
from coach.music import Key, Meter
from coach.notation import Arrangement, Line, LineKind
from coach.pieces.bundled import BundledPiece
from coach.pieces.fit import fit
from coach.pieces.key_of_line import key_of_line
from coach.pieces.played import PlayThrough
from coach.pieces.playthrough_words import summary
from coach.practice.events import PieceFinished
from coach.practice.piece_state import PieceState
from coach.reports.html_file import report_html
from coach.sessions.demo.finding import Finder
from coach.sessions.demo.learner import SimulatedLearner
from coach.sessions.exchange import report_of
from coach.sessions.journal import Journal
from coach.sessions.piece.beat_desk import BeatDesk
from coach.sessions.piece.bringing_in import bundled_pieces, take_bundled
from coach.sessions.piece.check_desk import CheckDesk
from coach.sessions.piece.material import arrangement_of, line_of
from coach.sessions.piece.neck_desk import Hand, NeckDesk
from coach.sessions.piece.phrases import phrases_of
from coach.sessions.piece.play_desk import PlayDesk
from coach.sessions.piece.sheet_files import SheetFiles, write_sheet
from coach.sessions.piece.wished import settled_wishes
from coach.sessions.recordings import AnalysedRecording, analysed
from coach.sessions.services import Services
from coach.sessions.survey import Survey, survey

TAPS = 16
PRACTICE_BPM = 66.0


@dataclass(frozen=True, slots=True)
class Step:
    """One step that was done: its name, its figure in words, and its values for programs."""

    name: str
    words: str
    values: dict[str, object]


class Demonstration:
    """The whole job on one bundled piece.

    Parameters
    ----------
    services
        With a data folder of the demonstration's own.
    out
        Where sheet and report go.
    seed
        Of the simulated learner's errors.
    """

    def __init__(self, services: Services, out: Path, seed: int = 1) -> None:
        self._services = services
        self._out = out
        self._journal = Journal(services.log(), services.clock)
        self._bundled: BundledPiece = bundled_pieces(services)[0]
        self._learner = SimulatedLearner(self._bundled, Random(seed))
        self._recording: AnalysedRecording | None = None
        self._surveyed: Survey | None = None

    def close(self) -> None:
        """Let go of the log."""
        self._journal.close()

    def steps(self) -> Iterator[Step]:
        """Do one step after the other and tell what came of it."""
        yield self._take_in_hand()
        yield self._first_listen()
        yield self._beat()
        for section in [s.name for s in self._piece.sections]:
            yield self._line(section, LineKind.MELODY)
            if section == "A":
                yield self._key()
            yield self._line(section, LineKind.BASS)
            yield self._together(section)
            yield self._play(section)
        yield self._whole_take()
        yield self._sheet()
        yield self._comparison()
        yield self._report()

    @property
    def _piece(self) -> PieceState:
        piece = self._journal.progress.piece
        if piece is None:
            raise CoachError("The demonstration has lost its piece: start it again.")
        return piece

    @property
    def _heard(self) -> AnalysedRecording:
        if self._recording is None:
            kept = self._services.library().find(self._piece.piece)
            if kept.recording is None:
                raise CoachError("The demonstration has lost its recording: start it again.")
            self._recording = analysed(self._services, kept.recording)
        return self._recording

    @property
    def _survey(self) -> Survey:
        if self._surveyed is None:
            kept = self._services.library().find(self._piece.piece)
            if kept.recording is None:
                raise CoachError("The demonstration has lost its recording: start it again.")
            self._surveyed = survey(self._services, kept.recording)
        return self._surveyed

    def _take_in_hand(self) -> Step:
        piece = take_bundled(self._services, self._journal, self._bundled.id)
        title = self._piece.title
        return Step("piece", f"“{title}” is in hand, with its recording", {"piece": piece, "title": title})

    def _first_listen(self) -> Step:
        heard = self._survey
        tempo = f"{heard.tempo_bpm:.0f} bpm" if heard.tempo_bpm else "no clear beat"
        words = (
            f"{heard.duration_s:.1f} s, {tempo}, key {heard.key}, tuned {heard.tuning_cents:+.1f} cents off, "
            f"{heard.checkable_share:.0%} of its notes can be checked: {heard.advice}"
        )
        values: dict[str, object] = {
            "duration_s": round(heard.duration_s, 2),
            "tempo_bpm": heard.tempo_bpm,
            "key": heard.key,
            "tuning_cents": round(heard.tuning_cents, 2),
            "checkable_share": heard.checkable_share,
            "advice": heard.advice,
        }
        return Step("first listen", words, values)

    def _beat(self) -> Step:
        taps_s, one_s = self._learner.taps(TAPS)
        desk = BeatDesk(self._journal)
        meter: Meter = self._bundled.meter
        desk.tap(taps_s, one_s, meter, pickup=self._bundled.pickup, duration_s=self._heard.audio.duration_s)
        phrases = phrases_of(self._piece, self._heard.audio)
        desk.cut_at(desk.proposed(phrases.bar_count, phrases.ends))
        piece = self._piece
        tempo = arrangement_of(piece).tempo_bpm
        names = ", ".join(section.name for section in piece.sections)
        words = f"{tempo:.1f} quarter notes a minute from {TAPS} taps; sections {names}"
        return Step("beat", words, {"tempo_bpm": tempo, "sections": [s.name for s in piece.sections]})

    def _line(self, section: str, kind: LineKind) -> Step:
        checks = CheckDesk(self._journal, self._heard, self._services.evidence_model(), section)
        finder = Finder(self._journal, self._learner, self._services.engine("auto"))
        found = finder.find(section, kind, checks)
        words = (
            f"{found.notes} notes written, {found.heard_at_once} heard at once, {found.mended} mended, "
            f"{found.open_questions} left open"
        )
        values: dict[str, object] = {
            "notes": found.notes,
            "heard_at_once": found.heard_at_once,
            "mended": found.mended,
            "open_questions": found.open_questions,
        }
        return Step(f"{kind} of section {section}", words, values)

    def _key(self) -> Step:
        line = line_of(self._piece, "A", LineKind.MELODY)
        key = Key.parse(self._survey.key) if self._survey.key else line_key(line)
        option = fit(line, None, key)[0]
        cents = self._heard.analysis.tuning_cents
        BeatDesk(self._journal).choose_key(
            option.key,
            capo=option.capo,
            shift_semitones=option.shift_semitones,
            tuning_cents=cents,
            melody_octaves=option.melody_octaves,
            bass_octaves=option.bass_octaves,
        )
        shift = option.shift_semitones
        self._learner.follow_key(shift + 12 * option.melody_octaves, shift + 12 * option.bass_octaves)
        words = (
            f"{option.key.name}, capo {option.capo}, shifted {option.shift_semitones:+d}: {option.reasons[0]}"
        )
        return Step("key for the guitar", words, {"key": option.key.name, "capo": option.capo})

    def _together(self, section: str) -> Step:
        desk = NeckDesk(self._journal, Hand.of(self._services.current_settings()), section)
        mended = desk.ways()
        if mended.best is None:
            raise CoachError(f"Section {section} cannot be played by this hand: choose a wider reach.")
        desk.settle(mended.best)
        changes = [change.detail for change in mended.best.changes]
        words = "playable as written" if mended.as_written else f"playable with {', '.join(changes)}"
        return Step(
            f"section {section} on the neck", words, {"as_written": mended.as_written, "changes": changes}
        )

    def _play(self, section: str) -> Step:
        desk = self._play_desk(section)
        take = self._learner.play(desk.arrangement, PRACTICE_BPM)
        played = desk.grade(take.samples, take.rate_hz)
        desk.settle()
        return Step(f"section {section} played", *_graded(played, self._bundled.meter.beat))

    def _whole_take(self) -> Step:
        desk = self._play_desk(None)
        take = self._learner.play(desk.arrangement, PRACTICE_BPM)
        words, values = _graded(desk.grade(take.samples, take.rate_hz), self._bundled.meter.beat)
        desk.keep(take.samples, take.rate_hz)
        length_s = len(take.samples) / take.rate_hz
        values["duration_s"] = round(length_s, 2)
        return Step("whole take", f"{length_s:.1f} s recorded and kept; {words}", values)

    def _play_desk(self, section: str | None) -> PlayDesk:
        hand = Hand.of(self._services.current_settings())
        return PlayDesk(self._services, self._journal, hand, section)

    def _sheet(self) -> Step:
        hand = Hand.of(self._services.current_settings())
        lines = self._arrangement
        fingers = settled_wishes(self._piece, lines)
        files: SheetFiles = write_sheet(self._services, lines, hand, self._out, wishes=fingers)
        names = [path.name for path in files.paths]
        return Step("sheet", ", ".join(names), {"files": [str(path) for path in files.paths]})

    def _comparison(self) -> Step:
        right, count = self._learner.compare(self._arrangement)
        self._journal.write(PieceFinished(self._piece.piece))
        words = f"{right} of {count} notes of both lines are those of the piece; finished"
        return Step("comparison", words, {"right": right, "notes": count})

    def _report(self) -> Step:
        with closing(self._services.read_log()) as log:
            report = report_of(self._services, log)
            count = sum(1 for _ in log.events())
        path = self._out / "report.html"
        self._services.files().write(path, report_html(report))
        words = f"{count} entries in the log, {path.name} written"
        return Step("log and report", words, {"events": count, "report": str(path)})

    @property
    def _arrangement(self) -> Arrangement:
        return arrangement_of(self._piece)


def line_key(line: Line) -> Key:
    """The key that a line alone suggests."""
    return key_of_line((note.midi, float(note.duration)) for note in line)


def _graded(played: PlayThrough, beat: Fraction) -> tuple[str, dict[str, object]]:
    """What came of a take, in words and as values."""
    results = Counter(note.result.value for note in played.notes)
    values: dict[str, object] = {
        "tempo_bpm": round(played.line.tempo_bpm, 1) if played.line is not None else None,
        "right_share": round(played.right_share, 4),
        "results": dict(sorted(results.items())),
        "extra": len(played.extra),
        "hardest_bar": played.hardest_bar,
    }
    others = ", ".join(f"{count} {word}" for word, count in sorted(results.items()) if word != "right")
    return f"{summary(played, beat)} The others: {others or 'none'}.", values
