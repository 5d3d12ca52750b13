"""Small media made on the spot."""

from collections.abc import Callable, Iterable
from pathlib import Path

import av
import numpy as np
from av.audio.frame import AudioFrame
from av.packet import Packet

# A synthetic voice in light noise, with pauses of four and six seconds: start, end, text.
PHRASES = (
    (1.5, 3.87, "The front fender has a small scratch."),
    (7.87, 10.58, "There is a two inch dent in the fuel tank."),
    (16.58, 18.18, "The left mirror is cracked."),
)
BURST_S = 0.2
Packets = Iterable[Packet]


def bursts(at_s: Iterable[float], length_s: float, rate: int) -> np.ndarray:
    """Silence with a tone of 0.2 s at each of the given times; float32 in [-1, 1]."""
    times = np.arange(round(length_s * rate)) / rate
    sound = np.zeros(len(times), np.float32)
    for start_s in at_s:
        inside = (times >= start_s) & (times < start_s + BURST_S)
        sound[inside] = 0.5 * np.sin(2 * np.pi * 700 * times[inside])
    return sound


def heard_bursts(samples: np.ndarray, rate: int) -> list[float]:
    """When the tones begin, in seconds."""
    block = rate // 200
    level = np.abs(samples[: len(samples) // block * block]).reshape(-1, block).max(axis=1)
    loud = level > 0.1
    starts = np.flatnonzero(loud & ~np.concatenate([[False], loud[:-1]])) / 200
    return [float(s) for i, s in enumerate(starts) if i == 0 or s - starts[i - 1] > BURST_S]


def write_media(
    path: Path,
    tracks: list[np.ndarray],
    *,
    rate: int = 44_100,
    codec: str = "aac",
    shift_s: float = 0.0,
    keep: Callable[[float], bool] = lambda _: True,
    video_s: float = 0.0,
    options: dict[str, str] | None = None,
    metadata: dict[str, str] | None = None,
) -> Path:
    """Writes mono tracks, later by `shift_s`, without the packets whose time `keep` refuses."""
    with av.open(str(path), "w", options=options or {}) as container:
        container.metadata.update(metadata or {})
        picture = container.add_stream("mpeg4", rate=10) if video_s else None
        if picture is not None:
            picture.width, picture.height, picture.pix_fmt = 32, 16, "yuv420p"
        streams = [container.add_stream(codec, rate=rate, layout="mono") for _ in tracks]
        packets: list[Packet] = []
        if picture is not None:
            for index in range(round(video_s * 10)):
                frame = av.VideoFrame(32, 16, "yuv420p")
                frame.pts = index
                packets += picture.encode(frame)
            packets += picture.encode(None)
        for stream, sound in zip(streams, tracks, strict=True):
            for packet in _encoded(stream, sound, rate):
                assert packet.time_base is not None
                time_s = float(packet.pts * packet.time_base)
                if keep(time_s):
                    packet.pts += round(shift_s / packet.time_base)
                    packet.dts = packet.pts
                    packets.append(packet)
        packets = [packet for packet in packets if packet.dts is not None]
        for packet in sorted(packets, key=lambda p: float(p.dts * p.time_base)):
            container.mux(packet)
    return path


def _encoded(stream: av.AudioStream, sound: np.ndarray, rate: int) -> list[Packet]:
    frame = AudioFrame.from_ndarray((sound * 32767).astype(np.int16)[None], "s16", "mono")
    frame.sample_rate = rate
    frame.pts = 0
    return [*stream.encode(frame), *stream.encode(None)]
