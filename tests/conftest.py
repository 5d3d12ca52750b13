"""What several test folders share: one logged sample, made by the real recogniser once a run."""

from pathlib import Path

import pytest

from pipeline.models import Record
from pipeline.walkaround import Options, log_recording, save

ROOT = Path(__file__).parent.parent
SAMPLES = ROOT / "samples"


@pytest.fixture(scope="session")
def logged(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Record]:
    """The clean sample, logged with the default weights: its findings folder, and the record."""
    folder = tmp_path_factory.mktemp("logged")
    recording = folder / "pellam.mp4"
    recording.write_bytes((SAMPLES / "pellam.mp4").read_bytes())
    record = log_recording(recording, Options()).record
    return save(record, folder / "pellam.walkaround").folder, record
