"""``coach drill`` by its contract: words, JSON, audio out and in, exit codes."""

import json
from collections.abc import Sequence
from dataclasses import replace
from io import StringIO
from pathlib import Path
from random import Random

import numpy as np
import parselmouth
import pytest
import soundfile

from coach.bootstrap import make_services
from coach.cli.commands import drill as command
from coach.cli.main import find, parser_of
from coach.cli.output import Output
from coach.drills.kinds import By, Kind
from coach.errors import DeviceError
from coach.practice.events import DrillAnswered
from coach.sessions.ports import SoundDevice
from coach.sessions.services import Services
from coach.tones.learner import EXACT, plucked
from coach.tones.prompt import PromptNote
from tests.command_line import coach
from tests.drill_answers import RATE_HZ, all_drills, audio_of, struck_at
from tests.fake_sound import ScriptedInput, SilentOutput, SteppedClock

NAMES = [drill.name for drill in all_drills()]
CONTRACT = ["name", "kind", "level", "by", "seed", "prompt", "expected", "rule", "heard", "grade"]
GRADE = ["right", "credit", "cents", "answer_s", "word"]
PITCH_TOLERANCE_CENTS = 1.0
OCTAVES = {"exact": {0}, "any_octave": {-1, 0, 1}, "octave_up_ok": {0, 1}}
"""The contract's three rules, written anew."""


def _value(data: Path, *words: str) -> dict:
    code, out = coach(data, "drill", *words, "--json")
    assert code == 0
    (line,) = out.splitlines()
    return json.loads(line)


def _answer(data: Path, path: Path, sound: np.ndarray, *words: str) -> dict:
    soundfile.write(path, sound, RATE_HZ)
    return _value(data, *words, "--answer", str(path))


def test_without_a_name_the_drills_are_listed(tmp_path: Path) -> None:
    code, out = coach(tmp_path, "drill")
    assert code == 0
    assert [line.split()[0] for line in out.splitlines()] == NAMES
    code, out = coach(tmp_path, "drill", "--json")
    assert [each["name"] for each in json.loads(out)] == NAMES
    assert [each["kind"] for each in json.loads(out)] == [kind.value for kind in Kind]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("by", list(By))
def test_every_drill_keeps_the_contract(tmp_path: Path, name: str, by: By) -> None:
    path = tmp_path / "prompt.wav"
    value = _value(tmp_path, name, "--seed", "5", "--level", "2", "--by", by, "--render", str(path))
    assert list(value)[: len(CONTRACT)] == CONTRACT
    assert (value["name"], value["level"], value["by"], value["seed"]) == (name, 2, by.value, 5)
    assert value["grade"] is None
    assert value["heard"] == []
    assert value["rule"] in OCTAVES
    assert all(list(note) == ["midi", "start_s", "end_s"] for note in value["prompt"])
    samples, rate_hz = soundfile.read(path)
    assert np.abs(samples).max() <= 10 ** (-6 / 20)
    assert len(samples) / rate_hz >= max(note["end_s"] for note in value["prompt"])
    again = _value(tmp_path, name, "--seed", "5", "--level", "2", "--by", by)
    assert again == value


def test_the_rendered_prompt_sounds_what_it_says(tmp_path: Path) -> None:
    path = tmp_path / "prompt.flac"
    value = _value(tmp_path, "phrase-echo", "--seed", "8", "--render", str(path))
    samples, rate_hz = soundfile.read(path)
    for note in value["prompt"]:
        first, last = round((note["start_s"] + 0.05) * rate_hz), round((note["end_s"] - 0.06) * rate_hz)
        hz = 440 * 2 ** ((note["midi"] - 69) / 12)
        pitch = parselmouth.Sound(samples[first:last], rate_hz).to_pitch_ac(
            pitch_floor=0.8 * hz, pitch_ceiling=1.25 * hz, very_accurate=True
        )
        found = pitch.selected_array["frequency"]
        assert abs(1200 * np.log2(np.median(found[found > 0]) / hz)) <= PITCH_TOLERANCE_CENTS


@pytest.mark.parametrize("name", ["match-note", "interval-echo", "bass-moves", "chord-outer"])
@pytest.mark.parametrize("by", list(By))
def test_recorded_notes_are_graded(tmp_path: Path, name: str, by: By) -> None:
    words = (name, "--seed", "3", "--by", by.value)
    asked = _value(tmp_path, *words)
    midis = [one["midi"] for one in asked["expected"]]
    path = tmp_path / "answer.wav"
    right = _answer(tmp_path, path, audio_of(midis, by, Random(1)), *words)
    assert right["expected"] == asked["expected"]
    assert right["grade"]["right"], right
    assert list(right["grade"]) == GRADE
    assert right["grade"]["credit"] == 1.0
    assert [one["midi"] % 12 for one in right["heard"]] == [midi % 12 for midi in midis]
    off = [*midis[:-1], midis[-1] + 1]
    wrong = _answer(tmp_path, path, audio_of(off, by, Random(2)), *words)
    assert not wrong["grade"]["right"]
    assert wrong["grade"]["word"] == "missed"
    moved = _answer(tmp_path, path, audio_of([midi + 12 for midi in midis], by, Random(3)), *words)
    assert moved["grade"]["right"] == (1 in OCTAVES[asked["rule"]])


@pytest.mark.parametrize("name", ["rhythm-echo", "tap-bass-change"])
@pytest.mark.parametrize("how", ["clap", "tap", "pluck"])
def test_recorded_strikes_are_graded(tmp_path: Path, name: str, how: str) -> None:
    words = (name, "--seed", "4")
    times = [one["onset_s"] for one in _value(tmp_path, *words)["expected"]]
    path = tmp_path / "answer.wav"
    assert _answer(tmp_path, path, struck_at(times, how, Random(1)), *words)["grade"]["right"]
    late = [*times[:-1], times[-1] + 0.35]
    assert not _answer(tmp_path, path, struck_at(late, how, Random(1)), *words)["grade"]["right"]


@pytest.mark.parametrize("name", NAMES)
def test_typed_answers_are_graded(tmp_path: Path, name: str) -> None:
    words = (name, "--seed", "6", "--by", "guitar")
    expected = _value(tmp_path, *words)["expected"]
    right = _value(tmp_path, *words, "--text", json.dumps(expected))
    assert right["grade"]["right"]
    assert right["heard"] == expected
    if "midi" in expected[0]:
        assert not _value(tmp_path, *words, "--text", str(expected[0]["midi"] + 1))["grade"]["right"]


def test_an_answer_that_cannot_be_read_is_an_error_of_its_own(tmp_path: Path) -> None:
    code, out = coach(tmp_path, "drill", "match-note", "--answer", str(tmp_path / "none.wav"), "--json")
    assert code == 1
    assert json.loads(out)["error"]["code"] == "unreadable"
    soundfile.write(tmp_path / "still.wav", np.zeros(RATE_HZ), RATE_HZ)
    value = _value(tmp_path, "match-note", "--answer", str(tmp_path / "still.wav"))
    assert (value["heard"], value["grade"]["word"]) == ([], "missed")


@pytest.mark.parametrize(
    "words",
    [
        ("no-such-drill",),
        ("match-note", "--level", "0"),
        ("match-note", "--level", "6"),
        ("rhythm-echo", "--text", "0.5 nan"),
        ("match-note", "--by", "nose"),
        ("match-note", "--text", "H4"),
        ("match-note", "--text", "C4", "--answer", "x.wav"),
        ("--text", "C4"),
    ],
)
def test_wrong_words(tmp_path: Path, words: Sequence[str]) -> None:
    assert coach(tmp_path, "drill", *words, "--json") == (2, "")


def test_people_are_told_the_answer_only_after_theirs(tmp_path: Path) -> None:
    words = ("match-note", "--seed", "1", "--by", "guitar")
    code, out = coach(tmp_path, "drill", *words, "--render", str(tmp_path / "p.wav"))
    assert (code, out) == (0, "Play the note you hear.\n")
    midi = _value(tmp_path, *words)["expected"][0]["midi"]
    code, out = coach(tmp_path, "drill", *words, "--text", str(midi - 1))
    assert code == 0
    assert "missed" in out
    assert "It was: " in out


def test_drills_of_ones_own_are_found_and_checked(tmp_path: Path) -> None:
    folder = tmp_path / "drills"
    folder.mkdir()
    own = (Path(__file__).parents[2] / "exercises/drills/match-note.toml").read_text()
    (folder / "mine.toml").write_text(own.replace('"match-note"', '"my-notes"'))
    assert _value(tmp_path, "my-notes", "--seed", "1")["name"] == "my-notes"
    (folder / "mine.toml").write_text(own.replace("cents = 50", "cents = 500"))
    assert coach(tmp_path, "drill", "match-note", "--text", "C4")[0] == 1


class _Catalog:
    """A scripted microphone and a silent loudspeaker."""

    def __init__(self, clock: SteppedClock) -> None:
        self.microphone = ScriptedInput(clock)
        self.speaker = SilentOutput(clock)

    def devices(self) -> tuple[SoundDevice, ...]:
        return ()

    def input(self, device: int | None = None) -> ScriptedInput:
        return self.microphone

    def output(self, device: int | None = None) -> SilentOutput:
        return self.speaker


def _live(data: Path, services: Services, *words: str) -> tuple[int, str]:
    out = StringIO()
    args = parser_of(find("drill"), command).parse_args(words)
    return command.run(args, services, Output(args.json, out, StringIO())), out.getvalue()


def test_without_an_answer_the_microphone_listens_and_the_grade_is_logged(tmp_path: Path) -> None:
    words = ("match-note", "--seed", "1", "--by", "guitar")
    asked = _value(tmp_path, *words)
    clock = SteppedClock()
    catalog = _Catalog(clock)
    midi = asked["expected"][0]["midi"]
    answer = plucked([PromptNote(midi, 4.0, 5.0)], catalog.microphone.rate_hz, Random(1), manner=EXACT)
    catalog.microphone.say(answer)
    services = replace(make_services(tmp_path), clock=clock, devices=lambda: catalog)
    code, out = _live(tmp_path, services, *words)
    assert code == 0
    assert out.splitlines()[-1].split(",")[0] in {"sure", "instant"}
    (logged,) = services.read_log().events()
    assert isinstance(logged.event, DrillAnswered)
    assert (logged.event.right, logged.event.heard, logged.event.seed) == (True, (midi,), 1)


def test_a_device_that_goes_away_is_told(tmp_path: Path) -> None:
    clock = SteppedClock()
    catalog = _Catalog(clock)
    services = replace(make_services(tmp_path), clock=clock, devices=lambda: catalog)
    take = catalog.microphone.take

    def lost() -> object:
        from coach.sessions.ports import StreamState  # noqa: PLC0415 - beside its only use

        if clock.steady > 1.0:
            catalog.microphone.state = StreamState.LOST
        return take()

    catalog.microphone.take = lost  # type: ignore[method-assign,assignment]
    with pytest.raises(DeviceError, match="went away"):
        _live(tmp_path, services, "match-note", "--seed", "1")
