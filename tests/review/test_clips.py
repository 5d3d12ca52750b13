"""pipeline/review/clips.py: the right stretch of the recording is heard, or written to a file."""

import io
import os
import wave
from pathlib import Path
from typing import Any

import miniaudio  # type: ignore[import-untyped]
import numpy as np
import pytest

from pipeline.errors import MediaError, RecordError
from pipeline.models import Audio
from pipeline.review import clips
from pipeline.review.clips import Player, clip, recording_of, wav, write_clip
from pipeline.times import Interval
from tests.review.records import record

RATE = 1000


def ramp(seconds: float) -> Audio:
    """Sound whose value tells its time: 0 at the start, 1 at the end."""
    return Audio(samples=np.linspace(0, 1, round(seconds * RATE), dtype=np.float32), rate=RATE)


def values(content: bytes) -> tuple[int, np.ndarray[Any, Any]]:
    """Rate and samples, -1 to 1, of a WAV file."""
    with wave.open(io.BytesIO(content)) as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        samples = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2")
        return file.getframerate(), samples / 32767


@pytest.mark.parametrize(
    ("start_s", "end_s", "first_s", "last_s"),
    [(3, 4, 2, 5), (0.5, 1, 0, 2), (9.5, 10, 8.5, 10), (20, 21, 10, 10)],
    ids=["in the middle", "at the start", "at the end", "after the end"],
)
def test_a_clip_has_a_second_before_and_after(
    start_s: float, end_s: float, first_s: float, last_s: float
) -> None:
    got = clip(ramp(10), Interval(start_s=start_s, end_s=end_s))
    assert got.duration_s == pytest.approx(last_s - first_s, abs=0.002)
    if len(got.samples):
        assert got.samples[0] * 10 == pytest.approx(first_s, abs=0.01)


def test_sound_is_written_without_loss_but_for_rounding() -> None:
    sound = Audio(samples=np.array([0, 0.5, -0.5, 1, -1, 1.5, -7], dtype=np.float32), rate=8000)
    rate, got = values(wav(sound))
    assert rate == 8000
    assert got == pytest.approx([0, 0.5, -0.5, 1, -1, 1, -1], abs=1e-4)


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    """Ten seconds, silent but for the sixth."""
    samples = np.zeros(10 * 16_000, dtype=np.float32)
    samples[5 * 16_000 : 6 * 16_000] = 0.5
    path = tmp_path / "walk.wav"
    path.write_bytes(wav(Audio(samples=samples, rate=16_000)))
    return path


def test_a_clip_is_written_on_the_medias_clock(recording: Path, tmp_path: Path) -> None:
    write_clip(recording, Interval(start_s=5, end_s=6), tmp_path / "clip.wav")
    rate, got = values((tmp_path / "clip.wav").read_bytes())
    assert len(got) == 3 * rate
    assert np.abs(got[: rate - 100]).max() < 0.01
    assert got[rate + 100 : 2 * rate - 100] == pytest.approx(0.5, abs=0.01)


def test_what_cannot_be_read_or_written_is_told(recording: Path, tmp_path: Path) -> None:
    with pytest.raises(MediaError):
        write_clip(tmp_path / "absent.wav", Interval(start_s=0, end_s=1), tmp_path / "clip.wav")
    with pytest.raises(RecordError, match="cannot be written"):
        write_clip(recording, Interval(start_s=0, end_s=1), tmp_path / "absent" / "clip.wav")


@pytest.mark.parametrize("place", ["walk.mp4", "walk.walkaround/walk.mp4"])
def test_the_recording_is_found_beside_or_above_the_findings(tmp_path: Path, place: str) -> None:
    folder = tmp_path / "walk.walkaround"
    folder.mkdir()
    assert recording_of(record(), folder) is None
    (tmp_path / place).touch()
    assert recording_of(record(), folder) == tmp_path / place
    assert recording_of(record(), folder / "findings.json") == tmp_path / place


class Device:
    """A sound device that keeps what it is given."""

    opened: list["Device"] = []  # noqa: RUF012

    def __init__(self, form: Any, channels: int, rate: int, backends: list[Any]) -> None:
        assert (form, channels) == (miniaudio.SampleFormat.SIGNED16, 1)
        self.rate = rate
        assert miniaudio.Backend.NULL not in backends
        self.played = b""
        self.closed = False
        self.opened.append(self)

    def start(self, stream: Any) -> None:
        for _ in range(100):
            try:
                self.played += bytes(stream.send(4096))
            except StopIteration:
                return

    def close(self) -> None:
        self.closed = True


@pytest.fixture
def devices(monkeypatch: pytest.MonkeyPatch) -> list[Device]:
    """The sound devices opened."""
    monkeypatch.setattr(miniaudio, "PlaybackDevice", Device)
    Device.opened.clear()
    return Device.opened


def test_a_clip_is_played_to_its_end(
    recording: Path, tmp_path: Path, devices: list[Device]
) -> None:
    player = Player(recording, tmp_path / "clips")
    assert player.hear(Interval(start_s=5, end_s=6)) is None
    assert (len(devices[0].played), devices[0].rate) == (3 * 16_000 * 2, 16_000)
    assert not (tmp_path / "clips").exists()


def test_a_clip_is_played_slowly(recording: Path, tmp_path: Path, devices: list[Device]) -> None:
    Player(recording, tmp_path / "clips").hear(Interval(start_s=5, end_s=6), 0.5)
    assert (len(devices[0].played), devices[0].rate) == (3 * 16_000 * 2, 8_000)


def test_a_new_clip_cuts_the_last_one_short(
    recording: Path, tmp_path: Path, devices: list[Device], monkeypatch: pytest.MonkeyPatch
) -> None:
    player = Player(recording, tmp_path / "clips")
    player.hear(Interval(start_s=5, end_s=6))
    monkeypatch.setattr(clips, "read_audio", None)  # the sound is decoded only once
    player.hear(Interval(start_s=1, end_s=2))
    assert [device.closed for device in devices] == [True, False]
    player.stop()
    player.stop()
    assert devices[1].closed


def test_without_a_sound_device_the_clip_is_written_and_nothing_is_said_of_it(
    recording: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
) -> None:
    def fail(*_: object, **__: object) -> None:
        os.write(2, b"noise of a sound library")
        raise miniaudio.MiniaudioError("no device")

    monkeypatch.setattr(miniaudio, "PlaybackDevice", fail)
    player = Player(recording, tmp_path / "clips")
    path = player.hear(Interval(start_s=5, end_s=6))
    assert path == tmp_path / "clips" / "5.0-6.0.wav"
    assert len(values(path.read_bytes())[1]) == 3 * 16_000
    assert capfd.readouterr().err == ""
    (tmp_path / "clips").rename(tmp_path / "moved")
    (tmp_path / "clips").touch()
    with pytest.raises(RecordError, match="cannot be written"):
        player.hear(Interval(start_s=5, end_s=6))
