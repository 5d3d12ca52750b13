"""The fuzz script's inputs and its way of trying them serve these tests too."""

import sys
from pathlib import Path

import pytest

from pipeline.review.clips import write_clip
from pipeline.times import Interval

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "scripts"))


@pytest.fixture(scope="session")
def few_words(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Some seconds of a recording: enough to be heard, and soon heard."""
    path = tmp_path_factory.mktemp("recording") / "few_words.wav"
    phrases = ROOT / "tests" / "listen" / "data" / "phrases.opus"
    write_clip(phrases, Interval(start_s=1, end_s=5), path)
    return path
