"""What is printed of a record."""

import io
from pathlib import Path

import pytest
from rich.console import Console

from pipeline.models import Source
from pipeline.terminal import show_record
from pipeline.walkaround import Saved
from tests.review.records import record


@pytest.mark.parametrize(("above_noise_db", "told"), [(17.4, True), (44.0, False), (None, False)])
def test_a_noisy_recording_is_told_as_such(above_noise_db: float | None, told: bool) -> None:
    source = Source(
        file_name="a.mp4", sha256="0" * 64, duration_s=60.0, has_video=True,
        transcript_origin="recogniser", above_noise_db=above_noise_db,
    )  # fmt: skip
    out = io.StringIO()
    show_record(Console(file=out, width=200), record(source=source), Saved(Path("a"), None))
    assert ("A noisy recording: the voice stands 17 dB above the noise" in out.getvalue()) == told
