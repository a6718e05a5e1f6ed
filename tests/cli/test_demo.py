import json
import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import mido
import music21
import pytest
from lxml import etree

from coach.bootstrap import make_services
from coach.cli.commands.demo import fresh_folder
from coach.sheet import read_arrangement
from tests.musicxml_schema import musicxml_schema


@dataclass(frozen=True)
class Done:
    """What a run of the demonstration left, what it said in JSON, and the sockets it asked for."""

    out: Path
    told: str
    sockets: str


def traced(words: list[str], trace: Path) -> list[str]:
    """The command under strace, which writes every socket and connection down."""
    if shutil.which("strace") is None:
        if os.environ.get("CI") == "true":
            pytest.fail("the network test needs strace")
        return words
    return ["strace", "-f", "--seccomp-bpf", "-qq", "-e", "trace=socket,connect", "-o", str(trace), *words]


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> Done:
    folder = tmp_path_factory.mktemp("demo")
    script = str(Path(sys.executable).parent / "coach")
    words = [script, "--data", str(folder / "data"), "demo", "--json", "--out", str(folder / "out")]
    trace = folder / "trace"
    run = subprocess.run(traced(words, trace), capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr
    return Done(folder / "out", run.stdout, trace.read_text() if trace.exists() else "")


@pytest.fixture
def demo(done: Done) -> Path:
    return done.out


def only(folder: Path, ending: str) -> Path:
    (path,) = folder.glob(f"*{ending}")
    return path


def test_both_lines_are_found_by_ear_with_the_learners_slips_mended(demo: Path) -> None:
    events = [each.event for each in make_services(demo / "data-1").read_log().events()]
    kinds = [event.kind for event in events]
    assert kinds[0] == "piece_chosen"
    assert kinds[-1] == "piece_finished"
    assert kinds.count("line_settled") == 4
    assert "hint_taken" in kinds
    assert "take_kept" in kinds
    assert kinds.count("played_through") == 3


def test_the_musicxml_is_valid_and_reads_back_with_the_same_notes_strings_and_frets(demo: Path) -> None:
    # The published MusicXML 4.0 schema, and music21 as the other reader.
    data = only(demo, ".musicxml").read_bytes()
    musicxml_schema().assertValid(etree.fromstring(data))
    ours = read_arrangement(data, "sheet.musicxml")
    assert ours.lines == read_arrangement(only(demo, ".json").read_bytes(), "sheet.json").lines
    staff = music21.converter.parseData(data, format="musicxml").parts[0]
    theirs = sorted(
        (Fraction(note.getOffsetInHierarchy(staff)), note.pitch.midi)
        for note in staff.stripTies().recurse().notes
    )
    assert theirs == sorted((note.onset, note.midi) for line in ours.lines for note in line)


def test_the_midi_file_equals_the_model_exactly(demo: Path) -> None:
    arrangement = read_arrangement(only(demo, ".json").read_bytes(), "sheet.json")
    file = mido.MidiFile(only(demo, ".mid"))
    for line, track in zip(arrangement.lines, file.tracks[1:], strict=True):
        now, begun, found = 0, {}, []
        for message in track:
            now += message.time
            if message.type == "note_on" and message.velocity:
                begun[message.note] = now
            elif message.type in {"note_off", "note_on"}:
                start = begun.pop(message.note)
                found.append((Fraction(start, 480), Fraction(now - start, 480), message.note))
        assert sorted(found) == [(note.onset, note.duration, note.midi) for note in line]


def test_json_tells_every_step_on_one_line(done: Done) -> None:
    (line,) = done.told.splitlines()
    steps = {step["step"]: step for step in json.loads(line)["steps"]}
    comparison = steps["comparison"]
    assert (done.out / "report.html").stat().st_size > 1000
    assert comparison["right"] >= 0.9 * comparison["notes"]


def test_what_went_wrong_in_the_takes_is_heard(done: Done) -> None:
    """The learner plays one note of the tune wrong and one late in every take."""
    steps = json.loads(done.told)["steps"]
    played = [
        step for step in steps if step["step"] in {"section A played", "section B played", "whole take"}
    ]
    assert len(played) == 3
    for step in played:
        results = step["results"]
        assert (results["wrong"], results["late"], step["extra"]) == (1, 1, 0)
        assert results["right"] == sum(results.values()) - 2
        assert step["tempo_bpm"] == pytest.approx(66.0, rel=0.01)
        assert step["hardest_bar"] is not None


def test_a_second_run_gets_a_data_folder_of_its_own(demo: Path, tmp_path: Path) -> None:
    assert fresh_folder(demo) == demo / "data-2"
    assert fresh_folder(tmp_path) == tmp_path / "data-1"


def test_nothing_is_sent_to_or_asked_of_any_network(done: Done) -> None:
    assert "AF_INET" not in done.sockets
