"""A findings file in a folder of its own, and a sitting at it."""

import sys
from collections.abc import Callable
from contextlib import AbstractContextManager
from functools import partial
from pathlib import Path

import pytest

from pipeline.record import write_record
from pipeline.review.sitting import Sitting, open_sitting
from tests.review.records import NOON, WORDS, record

# The scripts are no package; the reviewer who knows the truth is one of them.
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "scripts"))

Opened = Callable[[Path], AbstractContextManager[Sitting]]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A findings file that nobody has reviewed."""
    findings = tmp_path / "findings.json"
    write_record(record(), findings)
    return findings


@pytest.fixture
def opened() -> Opened:
    """Opens a sitting of the reviewer Ann, at noon."""
    return partial(
        open_sitting,
        who="Ann",
        words=WORDS,
        now=lambda: NOON,
    )
