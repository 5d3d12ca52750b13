"""A recording's sound on the media's own clock, and what its file says about itself.

Reads local files only, with PyAV alone. Every decoded frame is placed at its own presentation time:
a late start and gaps become silence, overlaps are trimmed, so that second 83 of the sound is second
83 of the video.
"""

import hashlib
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
from av.audio.frame import AudioFrame
from av.audio.resampler import AudioResampler
from av.audio.stream import AudioStream
from av.container import InputContainer
from av.packet import Packet
from av.stream import Disposition
from av.video.stream import VideoStream
from numpy.typing import NDArray

from pipeline.errors import MediaError
from pipeline.models import Audio
from pipeline.times import clock

Progress = Callable[[float], None]
"""Called with the share done so far, 0 to 1, never falling."""

RATE = 16_000  # samples a second: what the recogniser and the voice detection take

_TARGET = ("flt", "mono", RATE)
# Containers round frame times (Matroska to 1 ms); a correction at every frame would crackle.
_TOLERANCE_S = 0.02
# A frame further off than this has a broken stamp: it follows the one before.
_LARGEST_GAP_S = 3600.0
_LARGEST_OVERLAP_S = 5.0
_SHORTFALL_S = 2.0
_SILENT = 1e-4  # peak of a track that carries nothing (-80 dB)
_PREALLOCATED_S = 7200.0
_GROWTH_S = 600
# What a frame may say; the rest is damage, which would else fill the memory.
_RATES_HZ = range(2000, 800_000)
_LONGEST_S = 8 * 3600.0  # 1.8 GB of sound
# What holds its sound itself; a playlist, an index or a pattern of names refers to other files.
_FORMATS = "aac,aiff,amr,asf,au,avi,caf,flac,flv,matroska,mov,mp3,mp4,mpeg,mpegts,ogg,w64,wav,webm"
_FIRST_CAMERA_YEAR = 1990  # creation times of 1904 and 1970 are clocks that were never set


@dataclass(frozen=True)
class MediaInfo:
    """What a recording's file says about itself.

    `width` and `height` are of the stored picture in pixels; `rotation_deg` (0, 90, 180 or 270) is
    the turn, counter-clockwise, that shows it upright. All three are None where there is no video.
    `notices` are plain lines about what could not be read; empty where all was well.
    """

    duration_s: float
    has_video: bool
    rotation_deg: int | None
    width: int | None
    height: int | None
    recorded_at: datetime | None
    sha256: str
    notices: tuple[str, ...] = ()


def read_audio(path: Path, progress: Progress | None = None) -> Audio:
    """The recording's sound: 16 kHz, mono, float32, on the media's clock.

    Of several tracks, the default one, or else the first that has any sound in it. Pieces that
    cannot be decoded are skipped and stay silent; a file that breaks off gives what is there.
    Raises MediaError where the file cannot be read or has no sound track.
    """
    return _read(path, progress)[0]


def read_media(path: Path, progress: Progress | None = None) -> tuple[Audio, MediaInfo]:
    """The sound as `read_audio` gives it, and the file's data with notices of what is missing.

    Raises MediaError as `read_audio` and `probe` do.
    """
    info = probe(path)
    audio, notices = _read(path, progress)
    duration_s = max(info.duration_s, audio.duration_s)
    if audio.duration_s < info.duration_s - _SHORTFALL_S:
        notices.append(
            f"the sound ends at {clock(audio.duration_s)}, the recording at "
            f"{clock(info.duration_s)}: it may be cut off or damaged"
        )
    return audio, replace(info, duration_s=duration_s, notices=tuple(notices))


def probe(path: Path) -> MediaInfo:
    """What the file says about itself, without decoding it; reads it once for the digest.

    Raises MediaError where the file cannot be read as a recording.
    """
    with opened(path) as container:
        video = picture_stream(container)
        rotation_deg = None if video is None else _rotation_deg(container, video)
        return MediaInfo(
            duration_s=_duration_s(container),
            has_video=video is not None,
            rotation_deg=rotation_deg,
            width=None if video is None else video.width,
            height=None if video is None else video.height,
            recorded_at=_recorded_at(container.metadata),
            sha256=digest(path),
        )


def digest(path: Path) -> str:
    """SHA-256 of a file, as 64 hexadecimal digits, without holding it in memory.

    Raises MediaError where it cannot be read.
    """
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise MediaError(f"{path}: cannot be read: {error.strerror}") from error


def opened(path: Path) -> InputContainer:
    """The file as a container; only the file itself may be read, whatever it refers to.

    Raises MediaError where it cannot be read as a recording.
    """
    if path.is_dir():
        raise MediaError(f"{path}: is a folder; give the recording itself")
    if not path.is_file():
        raise MediaError(f"{path}: there is no such file")
    if path.stat().st_size == 0:
        raise MediaError(f"{path}: the file is empty; copy it from the camera again")
    try:
        return av.open(
            f"file:{path.resolve()}",
            container_options={"protocol_whitelist": "file", "format_whitelist": _FORMATS},
            metadata_errors="replace",
        )
    except av.error.PermissionError as error:
        raise MediaError(f"{path}: may not be read; check its permissions") from error
    except (av.error.FFmpegError, ValueError) as error:
        raise MediaError(
            f"{path}: is not a recording that is known here, or its end is cut off; copy it from "
            "the camera again"
        ) from error


def picture_stream(container: InputContainer) -> VideoStream | None:
    """The first moving picture; a cover picture is none."""
    return next(
        (s for s in container.streams.video if not s.disposition & Disposition.attached_pic), None
    )


def origin_s(container: InputContainer) -> float:
    """Where the frames' clock starts, in seconds: second 0 of the recording.

    Broadcast clocks start anywhere; every other container counts from the video's start.
    """
    if av.format.Flags(container.format.flags) & av.format.Flags.ts_discont:
        return (container.start_time or 0) / av.time_base
    return 0.0


def packets(
    container: InputContainer, *streams: AudioStream | VideoStream
) -> "Iterator[Packet[Any]]":
    """The streams' packets (all of them if none is named) up to where the file breaks off.

    A stream that begins later than the file, as a broadcast's may, is one that PyAV has no place
    for: it raises IndexError, or not, by what lies behind its list. Reading goes on behind it.
    """
    flushing = False
    while True:
        try:
            for packet in container.demux(*streams):
                flushing = packet.size == 0
                yield packet
        except IndexError:
            if not flushing:
                continue
        except av.error.FFmpegError:
            pass
        return


def _read(path: Path, progress: Progress | None) -> tuple[Audio, list[str]]:
    with opened(path) as container:
        tracks = sorted(
            (s for s in container.streams.audio if s.codec_context is not None),
            key=lambda s: not s.disposition & Disposition.default,
        )
        indexes = [track.index for track in tracks]
    if not indexes:
        raise MediaError(f"{path}: has no sound track, so there is nothing to hear")

    silent: tuple[Audio, list[str]] | None = None
    for index in indexes:
        samples, damaged = _decode(path, index, progress)
        notices = [f"{damaged} damaged pieces of sound were skipped"] if damaged else []
        if not samples.size:
            continue
        audio = Audio(samples=samples, rate=RATE)
        if np.max(samples) > _SILENT or np.min(samples) < -_SILENT:
            if silent is not None:
                notices.append("the first sound track is silent; another one was read")
            return audio, notices
        silent = silent or (audio, notices)
    if silent is None:
        raise MediaError(f"{path}: its sound cannot be decoded; convert it to MP4 with AAC sound")
    return silent[0], [*silent[1], "the recording is silent"]


def _decode(path: Path, index: int, progress: Progress | None) -> tuple[NDArray[np.float32], int]:
    """Samples of one track, and how many pieces of it were undecodable."""
    with opened(path) as container:
        track = container.streams[index]
        assert isinstance(track, AudioStream)
        begin_s = origin_s(container)
        total_s = (container.duration or 0) / av.time_base
        timeline = _Timeline(total_s)
        damaged = 0
        for packet in packets(container, track):
            try:
                for frame in packet.decode():
                    assert isinstance(frame, AudioFrame)
                    if frame.sample_rate not in _RATES_HZ:
                        damaged += 1
                        continue
                    timeline.add(frame, None if frame.time is None else frame.time - begin_s)
            except av.error.FFmpegError:
                damaged += 1
            if timeline.end_s > _LONGEST_S:
                hours = _LONGEST_S / 3600
                raise MediaError(f"{path}: is longer than {hours:.0f} h; cut the walkaround out")
            if progress is not None and total_s:
                progress(min(1.0, timeline.end_s / total_s))
        return timeline.samples(), damaged


class _Timeline:
    """Frames in, samples on the media's clock out.

    Frames that follow one another share one resampler (a run); a frame that is early or late by
    more than the tolerance, or of another format, ends the run and starts one at its own time.
    """

    def __init__(self, expected_s: float) -> None:
        # Untouched zeros cost no memory; the array grows in place, so nothing is held twice.
        self._samples = np.zeros(int((min(expected_s, _PREALLOCATED_S) + 1) * RATE), np.float32)
        self._cursor = 0  # where the run's next sample belongs
        self._end = 0  # first sample not yet written
        self._resampler: AudioResampler | None = None
        self._format: tuple[str, str, int] | None = None
        self._next_s = Fraction(0)  # when the run's next frame is due

    @property
    def end_s(self) -> float:
        """Seconds written so far."""
        return self._end / RATE

    def add(self, frame: AudioFrame, time_s: float | None) -> None:
        """Places a frame at `time_s`, or right after the one before where it has no usable time."""
        late_s = 0.0 if time_s is None else time_s - float(self._next_s)
        if not -_LARGEST_OVERLAP_S <= late_s <= _LARGEST_GAP_S:
            late_s = 0.0
        kind = (frame.format.name, frame.layout.name, frame.sample_rate)
        if self._resampler is None or kind != self._format or abs(late_s) > _TOLERANCE_S:
            self._flush()
            self._resampler = AudioResampler(*_TARGET)
            self._format = kind
            self._next_s += Fraction(late_s)
            self._cursor = round(self._next_s * RATE)
        self._next_s += Fraction(frame.samples, frame.sample_rate)
        frame.pts = None  # the place is known; the resampler must not see gaps in stamps
        for resampled in self._resampler.resample(frame):
            self._write(resampled.to_ndarray()[0])

    def samples(self) -> NDArray[np.float32]:
        """All samples; the timeline takes no frames afterwards."""
        self._flush()
        self._samples.resize(self._end, refcheck=False)
        return self._samples

    def _flush(self) -> None:
        # A resampler that has nothing to convert passes frames through and has nothing to flush.
        # One that has refused its first frame has nothing either, and says so.
        if self._resampler is not None and self._format != _TARGET:
            with suppress(av.error.FFmpegError):
                for resampled in self._resampler.resample(None):
                    self._write(resampled.to_ndarray()[0])
        self._resampler = None

    def _write(self, samples: NDArray[np.float32]) -> None:
        fresh = samples[max(0, self._end - self._cursor) :]
        self._cursor += len(samples)
        if not fresh.size:
            return
        if self._cursor > len(self._samples):
            self._samples.resize(self._cursor + _GROWTH_S * RATE, refcheck=False)
        self._samples[self._cursor - len(fresh) : self._cursor] = fresh
        self._end = self._cursor


def _duration_s(container: InputContainer) -> float:
    """Stated length, or where the last packet ends (browsers record WebM without a length)."""
    if container.duration is not None:
        return container.duration / av.time_base
    ends_s = (
        float((packet.pts + (packet.duration or 0)) * packet.time_base)
        for packet in packets(container)
        if packet.pts is not None and packet.time_base is not None
    )
    return max(ends_s, default=0.0)


def _rotation_deg(container: InputContainer, video: VideoStream) -> int:
    """The turn that the first picture asks for, in quarter turns."""
    try:
        frame = next(frame for packet in packets(container, video) for frame in packet.decode())
        return round(getattr(frame, "rotation", 0) / 90) * 90 % 360
    except (av.error.FFmpegError, StopIteration):
        return 0


def _recorded_at(metadata: dict[str, str]) -> datetime | None:
    """When the camera says it recorded; the stamp with its time zone is preferred."""
    for key in ("com.apple.quicktime.creationdate", "creation_time"):
        try:
            when = datetime.fromisoformat(metadata[key])
        except (KeyError, ValueError):
            continue
        if when.year >= _FIRST_CAMERA_YEAR:
            return when
    return None
