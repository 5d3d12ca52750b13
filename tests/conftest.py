"""What several test folders share: speech weights and a sample logged by them, once a run."""

from pathlib import Path

import pytest

from pipeline.listen.media import read_audio
from pipeline.listen.weights import SpeechModel, load_speech_model
from pipeline.models import Audio, Record
from pipeline.walkaround import Options, log_recording, save

ROOT = Path(__file__).parent.parent
SAMPLES = ROOT / "samples"


@pytest.fixture(autouse=True)
def _nothing_of_the_users(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """What the user's own reviews have taught must not change a test."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))


@pytest.fixture(scope="session")
def model() -> SpeechModel:
    """The published weights."""
    return load_speech_model(None, "cpu", 2)


@pytest.fixture(scope="session")
def phrases() -> Audio:
    """Three short phrases with pauses."""
    return read_audio(ROOT / "tests" / "listen" / "data" / "phrases.opus")


@pytest.fixture(scope="session")
def logged(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Record]:
    """The clean sample, logged with the default weights: its findings folder, and the record."""
    folder = tmp_path_factory.mktemp("logged")
    recording = folder / "pellam.mp4"
    recording.write_bytes((SAMPLES / "pellam.mp4").read_bytes())
    record = log_recording(recording, Options()).record
    return save(record, folder / "pellam.walkaround").folder, record
