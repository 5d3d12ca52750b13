"""The media's clock (a common fault of recognisers: times run early), and unreadable files."""

import hashlib
from pathlib import Path

import numpy as np
import pytest

from pipeline.errors import MediaError
from pipeline.listen.media import RATE, digest, probe, read_audio, read_media
from tests.listen.conftest import bursts, heard_bursts, write_media

AT_S = [1.0, 4.0, 7.3, 11.0, 14.0, 18.5]
LATE_S = 2.48
RAW = {"avoid_negative_ts": "disabled"}


@pytest.fixture(scope="module")
def sound() -> np.ndarray:
    return bursts(AT_S, 20.0, 44_100)


CLOCK_CASES = {
    "plain MP4": ("a.mp4", {}, 0.0),
    "sound starts late": ("a.mp4", {"shift_s": LATE_S, "video_s": 23.0}, LATE_S),
    "starts late, no video": ("a.mp4", {"shift_s": LATE_S}, LATE_S),
    "2.2 s of packets missing": (
        "a.mp4",
        {"keep": lambda t: not 8.0 <= t < 10.2, "video_s": 20.0},
        0.0,
    ),
    "edit list cuts 0.5 s": (
        "a.mp4",
        {"shift_s": -0.5, "video_s": 19.0, "options": RAW},
        -0.5,
    ),
    "Matroska, times in ms": ("a.mkv", {"shift_s": LATE_S, "video_s": 20.0}, LATE_S),
    "broadcast clock": ("a.ts", {"video_s": 20.0}, 0.0),
    "broadcast clock, late": ("a.ts", {"video_s": 20.0, "shift_s": LATE_S}, LATE_S),
    "MP3": ("a.mp3", {"codec": "libmp3lame"}, 0.0),
}


@pytest.mark.parametrize(("name", "how", "moved_s"), CLOCK_CASES.values(), ids=CLOCK_CASES)
def test_sound_lies_on_the_medias_clock(
    tmp_path: Path, sound: np.ndarray, name: str, how: dict, moved_s: float
) -> None:
    audio = read_audio(write_media(tmp_path / name, [sound], **how))

    assert audio.samples.dtype == np.float32
    assert audio.rate == RATE
    assert heard_bursts(audio.samples, RATE) == pytest.approx(
        [at + moved_s for at in AT_S], abs=0.05
    )


@pytest.mark.parametrize("rate", [8_000, 16_000, 48_000])
def test_no_drift_at_any_rate(tmp_path: Path, rate: int) -> None:
    at_s = [0.5, 100.0, 239.0]
    path = write_media(
        tmp_path / "a.wav", [bursts(at_s, 240.0, rate)], codec="pcm_s16le", rate=rate
    )

    audio = read_audio(path)

    assert len(audio.samples) == 240 * RATE
    assert heard_bursts(audio.samples, RATE) == pytest.approx(at_s, abs=0.01)


def test_a_silent_first_track_gives_way_to_one_with_sound(
    tmp_path: Path, sound: np.ndarray
) -> None:
    audio, info = read_media(write_media(tmp_path / "a.mp4", [0 * sound, sound]))

    assert len(heard_bursts(audio.samples, RATE)) == len(AT_S)
    assert info.notices == ("the first sound track is silent; another one was read",)


def test_a_silent_recording_is_read_and_said_to_be_silent(tmp_path: Path) -> None:
    audio, info = read_media(write_media(tmp_path / "a.mp4", [np.zeros(44_100, np.float32)]))

    assert not audio.samples.any()
    assert info.notices == ("the recording is silent",)


def test_damaged_pieces_are_skipped_and_counted(tmp_path: Path, sound: np.ndarray) -> None:
    path = write_media(tmp_path / "a.mp3", [sound], codec="libmp3lame")
    content = bytearray(path.read_bytes())
    middle = len(content) // 2
    content[middle : middle + 3000] = b"\xff\xfb\x90\xff" * 750
    path.write_bytes(content)

    audio, info = read_media(path)

    first, last = AT_S[0], AT_S[-1]
    found = heard_bursts(audio.samples, RATE)
    assert found[0] == pytest.approx(first, abs=0.05)
    assert found[-1] == pytest.approx(last, abs=0.3)
    assert any("damaged pieces of sound" in notice for notice in info.notices)


def test_a_file_cut_short_gives_what_is_there(tmp_path: Path, sound: np.ndarray) -> None:
    path = write_media(tmp_path / "a.mp4", [sound], video_s=20.0, options={"movflags": "faststart"})
    content = path.read_bytes()
    path.write_bytes(content[: len(content) * 6 // 10])

    audio, info = read_media(path)

    assert heard_bursts(audio.samples, RATE)[:2] == pytest.approx(AT_S[:2], abs=0.05)
    assert audio.duration_s < 15.0
    assert info.duration_s == pytest.approx(20.0, abs=0.1)
    assert any("may be cut off" in notice for notice in info.notices)


def test_progress_rises_to_the_whole(tmp_path: Path, sound: np.ndarray) -> None:
    shares: list[float] = []

    read_audio(write_media(tmp_path / "a.mp4", [sound]), shares.append)

    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(1.0, abs=0.01)


def _folder(path: Path) -> None:
    path.mkdir()


UNREADABLE = {
    "missing": (lambda _: None, "there is no such file"),
    "folder": (_folder, "is a folder"),
    "empty": (lambda path: path.write_bytes(b""), "the file is empty"),
    "text": (lambda path: path.write_text("the front fender is bent\n" * 9), "is not a recording"),
    "no index": (
        lambda path: path.write_bytes(b"\0\0\0\x18ftypmp42\0\0\0\0mp42isom" + bytes(999)),
        "is not a recording",
    ),
    "only video": (
        lambda path: write_media(path, [], video_s=1.0),
        "has no sound track",
    ),
    "list of other files": (
        lambda path: path.write_text("#EXTM3U\n#EXTINF:9,\nhttp://127.0.0.1:9/a.ts\n"),
        "is not a recording",
    ),
}


@pytest.mark.parametrize(("make", "message"), UNREADABLE.values(), ids=UNREADABLE)
def test_unreadable_files_get_one_clear_line(tmp_path: Path, make, message: str) -> None:
    path = tmp_path / "clip.mp4"
    make(path)

    with pytest.raises(MediaError, match=message) as caught:
        read_media(path)

    assert str(caught.value).startswith(str(path))
    assert "\n" not in str(caught.value)


def test_probe_tells_of_the_file_without_decoding_it(tmp_path: Path, sound: np.ndarray) -> None:
    path = write_media(
        tmp_path / "a.mp4",
        [sound],
        video_s=20.0,
        metadata={"creation_time": "2024-05-01T10:20:30.000000Z"},
    )

    info = probe(path)

    assert (info.has_video, info.width, info.height, info.rotation_deg) == (True, 32, 16, 0)
    assert info.duration_s == pytest.approx(20.0, abs=0.05)
    assert info.recorded_at is not None
    assert info.recorded_at.isoformat() == "2024-05-01T10:20:30+00:00"
    assert info.sha256 == digest(path) == hashlib.sha256(path.read_bytes()).hexdigest()


def test_probe_reads_the_turn_of_a_phone_held_upright(tmp_path: Path) -> None:
    path = write_media(tmp_path / "a.mp4", [], video_s=1.0)
    plain = b"".join(n.to_bytes(4, "big") for n in (1 << 16, 0, 0, 0, 1 << 16, 0, 0, 0, 1 << 30))
    quarter = b"".join(
        n.to_bytes(4, "big", signed=True)
        for n in (0, 1 << 16, 0, -(1 << 16), 0, 0, 32 << 16, 0, 1 << 30)
    )
    content = path.read_bytes()
    track = content.index(b"tkhd")
    at = content.index(plain, track)
    path.write_bytes(content[:at] + quarter + content[at + len(plain) :])

    assert probe(path).rotation_deg == 270
    assert (
        probe(
            write_media(tmp_path / "b.wav", [bursts([], 1.0, 8000)], rate=8000, codec="pcm_s16le")
        ).rotation_deg
        is None
    )


def test_a_stream_without_stated_length_is_measured(tmp_path: Path) -> None:
    live = write_media(
        tmp_path / "a.webm",
        [bursts(AT_S, 20.0, 48_000)],
        codec="libopus",
        rate=48_000,
        options={"live": "1"},
    )

    assert probe(live).duration_s == pytest.approx(20.0, abs=0.1)
    assert len(heard_bursts(read_audio(live).samples, RATE)) == len(AT_S)


def test_a_clock_that_was_never_set_is_no_recording_time(tmp_path: Path) -> None:
    path = write_media(
        tmp_path / "a.mp4",
        [],
        video_s=1.0,
        metadata={"creation_time": "1970-01-01T00:00:00.000000Z"},
    )

    assert probe(path).recorded_at is None
