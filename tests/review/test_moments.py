"""pipeline/review/moments.py: what was recorded is heard and seen, wherever the recording is."""

import hashlib
import io
from pathlib import Path

import av
import click
import numpy as np
import pytest
from PIL import Image

from pipeline.errors import MediaError, ReviewError
from pipeline.models import Record, Source
from pipeline.review.moments import Moments, frame_at
from tests.review.records import record


@pytest.fixture
def video(tmp_path: Path) -> Path:
    """Four seconds at 10 frames a second: dark, and bright from second 2 on."""
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    with av.open(str(folder / "moved.mp4"), "w") as container:
        stream = container.add_stream("mpeg4", rate=10)
        stream.width, stream.height, stream.pix_fmt = 64, 48, "yuv420p"
        for number in range(40):
            level = 40 if number < 20 else 200
            image = np.full((48, 64, 3), level, dtype=np.uint8)
            container.mux(stream.encode(av.VideoFrame.from_ndarray(image, format="rgb24")))
        container.mux(stream.encode(None))
    return folder / "moved.mp4"


def brightness(jpeg: bytes) -> float:
    return float(np.asarray(Image.open(io.BytesIO(jpeg)).convert("L")).mean())


def of_video(video: Path) -> Record:
    source = record().source.model_dump()
    source["sha256"] = hashlib.sha256(video.read_bytes()).hexdigest()
    return record(source=Source(**source))


@pytest.mark.parametrize(
    ("at_s", "level"), [(0, 40), (1.95, 40), (2.05, 200), (3.9, 200), (9, 200)]
)
def test_the_frame_on_the_screen_is_taken(video: Path, at_s: float, level: float) -> None:
    assert brightness(frame_at(video, at_s)) == pytest.approx(level, abs=6)


def test_what_shows_no_picture_is_told(tmp_path: Path) -> None:
    (tmp_path / "walk.mp4").write_bytes(b"no film")
    with pytest.raises(MediaError):
        frame_at(tmp_path / "walk.mp4", 1)


def test_a_moved_recording_is_asked_for_until_it_is_found_and_then_no_more(
    video: Path, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr("sys.platform", "linux")
    answers = [str(path.parent / "absent.mp4"), str(path), str(video)]
    moments = Moments(of_video(video), path, lambda _prompt: answers.pop(0), None)
    with pytest.raises(MediaError, match="absent"):
        moments.see(3)
    with pytest.raises(ReviewError, match="is not the recording that these findings are from"):
        moments.see(3)
    written = [moments.see(at_s) for at_s in (3, 1)]
    assert written == [path.parent / "clips" / "3.0.jpg", path.parent / "clips" / "1.0.jpg"]
    assert [brightness(each.read_bytes()) for each in written if each] == pytest.approx(
        [200, 40], abs=6
    )
    assert answers == []


def test_without_the_recording_the_review_goes_on_and_asks_no_more(path: Path) -> None:
    asked: list[str] = []

    def ask(prompt: str) -> str:
        asked.append(prompt)
        return ""

    moments = Moments(record(), path, ask, None)
    for _ in range(2):
        with pytest.raises(ReviewError, match="without the recording"):
            moments.see(1)
    assert asked == ["Where is walk.mp4 now (Enter goes on without)"]


def test_a_place_given_beforehand_is_not_asked_for(
    video: Path, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    launched: list[str] = []
    monkeypatch.setenv("DISPLAY", ":0")

    def launch(url: str) -> int:
        launched.append(url)
        return 0

    monkeypatch.setattr(click, "launch", launch)
    moments = Moments(of_video(video), path, lambda _prompt: pytest.fail("asked"), video)
    assert moments.see(3) is None
    assert launched == [str(path.parent / "clips" / "3.0.jpg")]
    with pytest.raises(ReviewError, match="is not the recording"):
        Moments(record(), path, lambda _prompt: "", video)
