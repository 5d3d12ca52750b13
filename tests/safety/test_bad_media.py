"""Recordings that are damaged, absurd, or refer to other files: what is there, or one clear error."""

import struct
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from av.audio.frame import AudioFrame
from fuzz import Seed, attempt, run

from pipeline.errors import MediaError, PublishError
from pipeline.listen import media
from pipeline.listen.media import read_media
from pipeline.publish.stills import take_stills
from pipeline.times import Interval

ENDED = ("result", "refusal")
RATE = 16_000


def tone(path: Path, codec: str, starts_s: tuple[int, ...] = (0,)) -> None:
    """A second of sound at each start; nothing between them."""
    with av.open(str(path), "w") as container:
        track = container.add_stream(codec, rate=RATE, layout="mono")
        assert isinstance(track, av.AudioStream)
        track.time_base = Fraction(1, RATE)
        for start_s in starts_s:
            for at in range(0, RATE, 1024):
                wave = np.sin(np.arange(at, at + 1024) / 5).astype(np.float32) * 0.1
                frame = AudioFrame.from_ndarray(wave[None], "fltp", "mono")
                frame.rate, frame.pts, frame.time_base = RATE, start_s * RATE + at, track.time_base
                container.mux(track.encode(frame))
        container.mux(track.encode())


# --- what a file refers to ----------------------------------------------------------------------

_HLS = "#EXTM3U\n#EXT-X-TARGETDURATION:9\n#EXTINF:9,\n{}\n#EXT-X-ENDLIST\n"


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("list.m3u8", _HLS.format("other.ts")),
        ("absolute.m3u8", _HLS.format("{folder}/other.ts")),
        ("url.m3u8", _HLS.format("file:{folder}/other.ts")),
        ("a.ffconcat", "ffconcat version 1.0\nfile other.ts\n"),
        ("film.mp4", "ffconcat version 1.0\nfile other.ts\n"),
        ("film.mkv", "ffconcat version 1.0\nfile {folder}/other.ts\n"),
        ("film.mov", "ffconcat version 1.0\nfile http://127.0.0.1:9/a.ts\n"),
        ("web.m3u8", _HLS.format("http://127.0.0.1:9/a.ts")),
        ("hidden.mp4", _HLS.format("other.ts")),
        ("plain.m3u", "other.ts\n"),
        ("plain.pls", "[playlist]\nFile1=other.ts\n"),
        ("call.sdp", "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\n"
                     "m=audio 5004 RTP/AVP 0\n"),
    ],
)  # fmt: skip
def test_nothing_that_a_file_refers_to_is_read(name: str, content: str, tmp_path: Path) -> None:
    tone(tmp_path / "other.ts", "aac")
    path = tmp_path / name
    path.write_text(content.replace("{folder}", str(tmp_path)))
    with pytest.raises(MediaError):
        read_media(path)
    with pytest.raises(PublishError):
        take_stills(path, {"F001": Interval(start_s=0, end_s=1)})


@pytest.mark.parametrize("name", ["a%03d.wav", "a?x#y.wav", "http:x.wav", "-i.wav", "a\nb.wav"])
def test_a_name_is_only_a_name(name: str, tmp_path: Path) -> None:
    tone(tmp_path / "tone.wav", "pcm_s16le")
    (tmp_path / "tone.wav").rename(tmp_path / name)
    assert read_media(tmp_path / name)[0].duration_s == pytest.approx(1.0, abs=0.1)


@pytest.mark.parametrize("ending", [".txt", ".srt", ".json", ".m3u8", ".mp4", ""])
def test_the_wrong_ending(ending: str, tmp_path: Path) -> None:
    tone(tmp_path / "tone.wav", "pcm_s16le")
    path = (tmp_path / "tone.wav").rename(tmp_path / f"tone{ending}")
    assert read_media(path)[0].duration_s == pytest.approx(1.0, abs=0.1)


# --- absurd figures -----------------------------------------------------------------------------


def wav(rate: int, *, channels: int = 1, bits: int = 16, samples: int = 100,
        stated: int | None = None) -> bytes:  # fmt: skip
    data = b"\x00\x10" * samples
    form = struct.pack("<HHIIHH", 1, channels, rate, rate * 2 & 0xFFFFFFFF, 2, bits)
    size = len(data) if stated is None else stated
    return b"".join([
        b"RIFF", struct.pack("<I", 36 + len(data)), b"WAVEfmt ", struct.pack("<I", 16), form,
        b"data", struct.pack("<I", size), data,
    ])  # fmt: skip


@pytest.mark.parametrize(
    "content",
    [
        wav(0), wav(2**32 - 1), wav(16_000, channels=0), wav(16_000, channels=1000),
        wav(16_000, bits=0), wav(16_000, samples=0), wav(16_000, stated=2**32 - 1), wav(1),
        wav(16_000)[:44], wav(16_000)[:20], b"RIFF",
        wav(2**31 - 1),
        wav(1, samples=100_000),
    ],
    ids=range(13),
)  # fmt: skip
def test_absurd_sound(content: bytes) -> None:
    assert attempt(read_media, Seed("a.wav", content)) in ENDED


@pytest.mark.parametrize(
    "hours",
    [3, 10],
)
def test_gaps_are_filled_only_so_far(hours: int, tmp_path: Path) -> None:
    """A few kilobytes must not become gigabytes of silence."""
    path = tmp_path / "gaps.mka"
    tone(path, "aac", tuple(range(0, hours * 3600, 3500)))
    assert path.stat().st_size < 500_000
    assert attempt(read_media, Seed("gaps.mka", path.read_bytes())) in ENDED


def broadcast(path: Path, tracks: int, seconds: int) -> bytes:
    """A transport stream of so many tracks with the same tone, as it is sent piece by piece."""
    with av.open(str(path), "w", "mpegts") as container:
        streams = [container.add_stream("mp2", rate=RATE, layout="mono") for _ in range(tracks)]
        for at in range(0, seconds * RATE, 1152):
            for track in streams:
                wave = (np.sin(np.arange(at, at + 1152) / 5) * 3000).astype(np.int16)
                frame = AudioFrame.from_ndarray(wave[None], "s16", "mono")
                frame.rate, frame.pts, frame.time_base = RATE, at, Fraction(1, RATE)
                container.mux(track.encode(frame))
        for track in streams:
            container.mux(track.encode())
    return path.read_bytes()


def test_a_track_that_begins_later_is_passed_over(tmp_path: Path) -> None:
    one, two = (broadcast(tmp_path / "part.ts", n, seconds) for n, seconds in ((1, 30), (2, 2)))
    path = tmp_path / "late.ts"
    path.write_bytes(one + two + one)

    audio, info = read_media(path)

    assert audio.duration_s > 55
    assert info.notices == ()


def test_a_frame_that_cannot_be_converted_is_damage(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Refusing:
        def __init__(self, *_: object) -> None: ...

        def resample(self, _frame: AudioFrame | None) -> list[AudioFrame]:
            raise av.error.FFmpegError(22, "Invalid argument")

    tone(tmp_path / "tone.wav", "pcm_s16le")
    monkeypatch.setattr(media, "AudioResampler", Refusing)
    with pytest.raises(MediaError, match="cannot be decoded"):
        read_media(tmp_path / "tone.wav")


# --- damaged files ------------------------------------------------------------------------------


@pytest.mark.parametrize(("target", "tries"), [("cut", 20), ("flipped", 20)])
def test_damaged_recordings(target: str, tries: int) -> None:
    tally = run(target, tries, seed=3)
    assert tally.results > tries // 4
    assert tally.results + tally.refusals == tries
    assert tally.escaped == {}
