"""A recording as lines."""

from pathlib import Path

import numpy as np
import pytest

from pipeline.errors import MediaError
from pipeline.listen.hear import to_transcript
from pipeline.listen.media import read_media
from pipeline.listen.recogniser import transcribe
from pipeline.listen.weights import SpeechModel
from pipeline.models import Audio
from tests.listen.conftest import PHRASES, write_media

LATE_S = 2.48


def test_lines_lie_on_the_videos_clock(tmp_path: Path, phrases: Audio, model: SpeechModel) -> None:
    video = write_media(
        tmp_path / "a.mp4", [phrases.samples], rate=16_000, shift_s=LATE_S, video_s=23.0
    )
    shares: list[float] = []

    audio, info = read_media(video)
    heard = transcribe(audio, model, progress=shares.append)
    transcript = to_transcript(heard, info.duration_s)

    assert transcript.origin == "recogniser"
    assert transcript.duration_s == info.duration_s == pytest.approx(23.0, abs=0.1)
    assert audio.duration_s == pytest.approx(phrases.duration_s + LATE_S, abs=0.1)
    for line, (start_s, _, text) in zip(transcript.lines, PHRASES, strict=True):
        assert line.text.replace("2 inch", "two inch") == text
        assert line.start_s == pytest.approx(start_s + LATE_S, abs=0.2)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0


def test_a_silent_recording_gives_no_lines(tmp_path: Path, model: SpeechModel) -> None:
    path = write_media(tmp_path / "a.mp4", [np.zeros(44_100 * 3, np.float32)])

    audio, info = read_media(path)

    assert to_transcript(transcribe(audio, model), info.duration_s).lines == []
    assert info.notices == ("the recording is silent",)


def test_a_video_without_sound_is_refused(tmp_path: Path) -> None:
    path = write_media(tmp_path / "a.mp4", [], video_s=1.0)

    with pytest.raises(MediaError, match="has no sound track"):
        read_media(path)
