"""The console script as a user meets it: exit codes, and never a traceback."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

import coach.bootstrap
from coach.cli.main import run as run_command
from coach.cli.table import COMMANDS, Command
from coach.sessions.services import Services

SCRIPT = Path(sys.executable).parent / "coach"
WRONG_WORDS, INTERRUPTED = 2, 130
"""POSIX shells: 2 for misuse, 128 + SIGINT for an interrupt."""


def run(*words: str, **env: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [SCRIPT, *words], capture_output=True, text=True, check=False, env={**os.environ, **env}, timeout=120
    )


@pytest.mark.parametrize(
    "words", [["nonsense"], ["check"], ["listen", "--source", "cat", "x.wav"], ["--what"]]
)
def test_wrong_words_end_with_2_and_say_nothing_on_standard_output(words: list[str]) -> None:
    done = run(*words)
    assert (done.returncode, done.stdout) == (WRONG_WORDS, "")
    assert "Traceback" not in done.stderr


def test_help_lists_every_command() -> None:
    done = run("--help")
    assert done.returncode == 0
    assert all(f" {command.word} " in done.stdout for command in COMMANDS)


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command.word)
def test_every_command_explains_itself(command: Command, capsys: pytest.CaptureFixture[str]) -> None:
    def services_for(named: str | None) -> Services:
        raise AssertionError("nothing is opened for that")

    with pytest.raises(SystemExit) as ended:
        run_command([command.word, "--help"], services_for)
    assert ended.value.code == 0
    assert command.summary in " ".join(capsys.readouterr().out.split())


def test_without_a_display_the_app_says_so_and_names_the_demo(tmp_path: Path) -> None:
    hidden = {"DISPLAY": "", "WAYLAND_DISPLAY": "", "SDL_VIDEODRIVER": "wayland,x11"}
    done = run("--data", str(tmp_path), **hidden)
    assert done.returncode == 1
    assert "coach demo" in done.stderr


def test_an_interrupt_ends_with_130(tmp_path: Path) -> None:
    words = [SCRIPT, "--data", str(tmp_path / "d"), "demo", "--out", str(tmp_path / "o")]
    demo = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert demo.stdout is not None
    demo.stdout.readline()
    demo.send_signal(signal.SIGINT)
    _, said = demo.communicate(timeout=60)
    assert demo.returncode == INTERRUPTED
    assert "Traceback" not in said


def test_a_closed_pipe_ends_quietly(tmp_path: Path) -> None:
    words = f"{SCRIPT} --data {tmp_path}/d demo --out {tmp_path}/o | head -n 1"
    done = subprocess.run(["sh", "-c", words], capture_output=True, text=True, check=False, timeout=120)
    assert len(done.stdout.splitlines()) == 1
    assert done.stderr == ""


def test_a_fault_of_the_program_is_told_in_a_sentence(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    def broken(_words: list[str]) -> int:
        raise ZeroDivisionError

    monkeypatch.setattr(coach.bootstrap, "_start", broken)
    monkeypatch.setattr(sys, "argv", ["coach", "log", "--json"])
    assert coach.bootstrap.main() == 1
    out, err = capfd.readouterr()
    value = json.loads(out)
    assert value["error"]["code"] == "fault"
    report = Path(value["error"]["message"].split("Details are in ")[1].split(": ")[0])
    assert "ZeroDivisionError" in report.read_text()
    report.unlink()
    assert "Traceback" not in err
