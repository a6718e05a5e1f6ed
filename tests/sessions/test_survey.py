"""What a first listen keeps, and when it listens anew."""

import hashlib
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest
import soundfile

from coach.bootstrap import make_services
from coach.hearing import (
    beats,
    beats_bars,
    beats_harmony,
    beats_phrases,
    beats_strength,
    beats_tempo,
    beats_weights,
    tuning_offset,
)
from coach.hearing.evidence import analysis
from coach.sessions import survey as first_listen
from coach.sessions.recordings import analysed
from coach.sessions.survey import Survey, survey, survey_of
from tests.synth import RATE_HZ, place, pluck

OLDEST = 1
KNOWN_SURVEY = (4, "8c7f4cff2b49")
KNOWN_ANALYSIS = (3, "0d28f1208d3e")


def numbers_of(*modules: ModuleType) -> str:
    """A digest of all constants of modules."""
    found = [
        f"{module.__name__}.{name}={value!r}"
        for module in modules
        for name, value in sorted(vars(module).items())
        if name.strip("_").isupper()
    ]
    return hashlib.sha256("\n".join(found).encode()).hexdigest()[:12]


def test_other_numbers_of_the_beat_are_another_format() -> None:
    """What was found with other numbers must not be read: raise FORMAT, then write both down here."""
    heard = numbers_of(
        beats, beats_bars, beats_harmony, beats_phrases, beats_strength, beats_tempo, beats_weights
    )
    assert (first_listen.FORMAT, heard) == KNOWN_SURVEY


def test_other_numbers_of_the_tuning_are_another_format() -> None:
    """The layers of an analysis are laid out by the tuning: raise FORMAT, then write both down here."""
    assert (analysis.FORMAT, numbers_of(tuning_offset)) == KNOWN_ANALYSIS


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("heard") / "short.wav"
    notes = [(0.3 + 0.6 * number, pluck(220.0, 0.5)) for number in range(8)]
    soundfile.write(path, 0.5 * place(notes, 6.0), RATE_HZ)
    return path


def test_what_an_older_version_kept_is_found_anew(recording: Path, tmp_path: Path) -> None:
    services = make_services(tmp_path)
    heard = analysed(services, recording)
    fresh = survey_of(services, heard)
    wrong = replace(fresh, tempo_bpm=999.0).to_bytes()
    for older in range(OLDEST, first_listen.FORMAT):
        services.cache().put(f"survey-{older}-{heard.audio.sha256}", wrong)
    assert survey(services, recording) == fresh
    services.cache().put(f"survey-{first_listen.FORMAT}-{heard.audio.sha256}", wrong)
    assert survey(services, recording).tempo_bpm == 999.0


def test_a_recording_shorter_than_a_beat_is_heard_without_an_error(tmp_path: Path) -> None:
    path = tmp_path / "moment.wav"
    soundfile.write(path, 0.5 * pluck(220.0, 0.2), RATE_HZ)
    found = survey(make_services(tmp_path / "data"), path)
    assert isinstance(found, Survey)
    assert all(0.0 <= time <= found.duration_s for time in found.beats_s)
