"""Sound, or sound and picture, into a media file; the same input gives the same bytes."""

import struct
from collections.abc import Iterable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

import av
import numpy as np
from PIL import Image

from rendering.film import FPS
from rendering.sound import RATE, Samples

if TYPE_CHECKING:  # at run time the class takes no parameter
    Packet: TypeAlias = av.Packet[Any]

_CODECS = {".ogg": "libopus", ".m4a": "aac", ".mp4": "aac"}
_FORMATS = {".ogg": "ogg", ".m4a": "ipod", ".mp4": "mp4"}
_BIT_EXACT = {"fflags": "+bitexact"}
AUDIO_BIT_RATE = 32_000
_QUARTER_TURN = (0, 1 << 16, 0, -(1 << 16) & 0xFFFFFFFF, 0, 0)


def write_sound(path: Path, samples: Samples) -> None:
    """Writes `.ogg` (Opus) or `.m4a` (AAC), 32 kb/s, mono."""
    with av.open(str(path), "w", format=_FORMATS[path.suffix], options=_BIT_EXACT) as container:
        stream = _audio_stream(container, path)
        for packet in _audio_packets(stream, samples, 0.0):
            container.mux(packet)


def write_film(
    path: Path,
    pictures: Iterable[Image.Image],
    size: tuple[int, int],
    samples: Samples,
    sound_start_s: float = 0.0,
) -> None:
    """Writes an `.mp4` (H.264 and AAC) whose sound starts at `sound_start_s` of the picture.

    Pictures of `size` (width, height) that are upright are stored lying on their side, with the
    turn in the file's header, as a phone does.
    """
    upright = size[0] < size[1]
    with av.open(str(path), "w", format="mp4", options=_BIT_EXACT) as container:
        video = container.add_stream("libx264", rate=FPS, options={"crf": "26", "preset": "slow"})
        video.pix_fmt, video.gop_size, video.thread_count = "yuv420p", FPS * 5, 1
        video.width, video.height = reversed(size) if upright else size
        audio = _audio_stream(container, path)
        sounds = _audio_packets(audio, samples, sound_start_s)
        waiting = next(sounds, None)
        for index, picture in enumerate(pictures):
            stored = picture.transpose(Image.Transpose.ROTATE_90) if upright else picture
            frame = av.VideoFrame.from_ndarray(np.asarray(stored), format="rgb24")
            frame.pts, frame.time_base = index, Fraction(1, FPS)
            for packet in video.encode(frame):
                container.mux(packet)
            while waiting is not None and _seconds(waiting) <= index / FPS:
                container.mux(waiting)
                waiting = next(sounds, None)
        for packet in video.encode(None):
            container.mux(packet)
        while waiting is not None:
            container.mux(waiting)
            waiting = next(sounds, None)
    if upright:
        _turn_picture(path)


def _audio_stream(container: av.container.OutputContainer, path: Path) -> av.AudioStream:
    stream = container.add_stream(_CODECS[path.suffix], rate=RATE, layout="mono")
    assert isinstance(stream, av.AudioStream)
    stream.bit_rate = AUDIO_BIT_RATE
    return stream


def _audio_packets(stream: av.AudioStream, samples: Samples, start_s: float) -> Iterator["Packet"]:
    frame = av.AudioFrame.from_ndarray(samples.reshape(1, -1), format="flt", layout="mono")
    frame.sample_rate, frame.time_base = RATE, Fraction(1, RATE)
    frame.pts = round(start_s * RATE)
    yield from stream.encode(frame)
    yield from stream.encode(None)


def _seconds(packet: "Packet") -> float:
    return float((packet.pts or 0) * packet.time_base)


def _turn_picture(path: Path) -> None:
    """Writes a quarter turn clockwise into the header of the first track (ISO 14496-12, 8.3.2)."""
    data = bytearray(path.read_bytes())
    header = data.index(b"tkhd") + 4
    matrix = header + 40  # after version and flags, times, id, duration, layer, group and volume
    struct.pack_into(">6I", data, matrix, *_QUARTER_TURN)
    path.write_bytes(data)
