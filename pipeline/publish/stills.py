"""The frame that shows a flaw best: sharp, still, and close to the words. One sequential decode.

The camera arrives before the word, so frames are looked at from some seconds before a phrase to a
little after it. Each window is cut into slices and the best frame of each is kept, so that the
alternatives differ; the frames of a closed window leave memory at once.
"""

import io
import math
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

import av
import numpy as np
from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream
from numpy.typing import NDArray
from PIL import Image

from pipeline.errors import MediaError, PublishError
from pipeline.listen.media import Progress, opened, origin_s, packets, picture_stream
from pipeline.times import Interval

Luma = NDArray[np.float32]

BEFORE_S = 2.5  # how long before the phrase a frame may stand
AFTER_S = 1.0
ALTERNATIVES = 3

_SLICE_S = 0.8
_LUMA_PX = 480
_LARGEST_PX = 1280
_THUMBNAIL_PX = 320
_JPEG_QUALITY = 85
_OUTSIDE = 0.4  # worth of a frame just outside the phrase: the camera may be elsewhere by then
_FAR = 0.1  # worth of one at the far edge of the window
_MOTION = 8.0  # mean change of luma, in levels of 255 per 1/30 s, that halves a score
_TURNS = {
    90: Image.Transpose.ROTATE_90,
    180: Image.Transpose.ROTATE_180,
    270: Image.Transpose.ROTATE_270,
}


@dataclass(frozen=True)
class Still:
    """A frame, upright, as JPEG. `time_s` is its exact presentation time on the media's clock.

    `jpeg` is at most 1280 pixels long, `thumbnail` 320. `focus` is the score that chose it, which
    has a meaning only within one recording.
    """

    time_s: float
    focus: float
    jpeg: bytes
    thumbnail: bytes


@dataclass(frozen=True)
class _Shown:
    """A decoded frame and the stretch in which it is on the screen."""

    frame: VideoFrame
    start_s: float
    end_s: float

    @cached_property
    def luma(self) -> Luma:
        """Its brightness, small, in levels of 255."""
        return _luma(self.frame)


@dataclass
class _Window:
    """The stretch in which a phrase's frame is looked for, and the best frame of each slice."""

    name: str
    phrase: Interval
    best: dict[int, tuple[float, _Shown]] = field(default_factory=dict)

    @property
    def start_s(self) -> float:
        return max(0.0, self.phrase.start_s - BEFORE_S)

    @property
    def end_s(self) -> float:
        return self.phrase.end_s + AFTER_S

    def offer(self, shown: _Shown, focus: float) -> None:
        """Keeps the frame if it is its slice's best; one far from the phrase counts for less."""
        at_s = max(shown.start_s, self.start_s)
        far_s = max(self.phrase.start_s - at_s, at_s - self.phrase.end_s)
        worth = 1.0 if far_s <= 0 else _OUTSIDE + (_FAR - _OUTSIDE) * far_s / BEFORE_S
        score = focus * worth
        index = int((at_s - self.start_s) / _SLICE_S)
        if index not in self.best or score > self.best[index][0]:
            self.best[index] = (score, shown)


def take_stills(
    media: Path, phrases: Mapping[str, Interval], progress: Progress | None = None
) -> dict[str, list[Still]]:
    """For each phrase the best frame first, then up to three alternatives from other moments.

    A phrase of which the video shows nothing has an empty list. The video is decoded once, from its
    start to the last window. Raises PublishError where it cannot be read or has no picture.
    """
    stills: dict[str, list[Still]] = {name: [] for name in phrases}
    waiting = sorted(
        (_Window(name, phrase) for name, phrase in phrases.items()), key=lambda w: -w.start_s
    )
    if not waiting:
        return stills
    last_s = max(window.end_s for window in waiting)
    opened: list[_Window] = []
    before: _Shown | None = None
    for shown in _shown_frames(media):
        while waiting and waiting[-1].start_s < shown.end_s:
            opened.append(waiting.pop())
        for window in [w for w in opened if w.end_s < shown.start_s]:
            stills[window.name] = _chosen(window)
            opened.remove(window)
        if opened:
            score = focus(shown.luma) / (1 + _motion(before, shown) / _MOTION)
            for window in opened:
                window.offer(shown, score)
        before = shown
        if progress is not None:
            progress(min(1.0, shown.start_s / last_s))
        if not waiting and not opened:
            break
    stills |= {window.name: _chosen(window) for window in opened}
    if progress is not None:
        progress(1.0)
    return stills


def focus(luma: Luma) -> float:
    """How sharp a picture is: the geometric mean of its second differences' variances, per axis.

    The variance of the Laplacian (Pech-Pacheco and others, ICPR 2000) taken along and across: a
    smear by motion lowers one of the two only, and so lowers the mean.
    """
    across = luma[:, 2:] - 2 * luma[:, 1:-1] + luma[:, :-2]
    along = luma[2:] - 2 * luma[1:-1] + luma[:-2]
    return math.sqrt(float(across.var()) * float(along.var()))


def _motion(before: _Shown | None, now: _Shown) -> float:
    """Mean change of luma since the frame before, in levels per 1/30 s."""
    if before is None or before.luma.shape != now.luma.shape or now.start_s <= before.start_s:
        return 0.0
    return float(np.abs(now.luma - before.luma).mean()) / (30 * (now.start_s - before.start_s))


def _luma(frame: VideoFrame) -> Luma:
    scale = min(1.0, _LUMA_PX / max(frame.width, frame.height))
    small = frame.reformat(
        width=max(3, round(frame.width * scale)),
        height=max(3, round(frame.height * scale)),
        format="gray",
        interpolation="AREA",
    )
    return small.to_ndarray().astype(np.float32)


def _chosen(window: _Window) -> list[Still]:
    best = sorted(window.best.values(), key=lambda scored: -scored[0])
    return [_still(shown, score) for score, shown in best[: 1 + ALTERNATIVES]]


def _still(shown: _Shown, score: float) -> Still:
    image = Image.fromarray(shown.frame.to_ndarray(format="rgb24"))
    turn = _TURNS.get(round(shown.frame.rotation / 90) * 90 % 360)
    if turn is not None:
        image = image.transpose(turn)
    return Still(
        time_s=shown.start_s,
        focus=score,
        jpeg=jpeg(image, _LARGEST_PX),
        thumbnail=jpeg(image, _THUMBNAIL_PX),
    )


def jpeg(image: Image.Image, largest_px: int) -> bytes:
    """The picture as JPEG, made smaller where its longer side is over `largest_px`."""
    fitted = image.convert("RGB")
    fitted.thumbnail((largest_px, largest_px), Image.Resampling.LANCZOS)
    content = io.BytesIO()
    fitted.save(content, "JPEG", quality=_JPEG_QUALITY, optimize=True)
    return content.getvalue()


def _shown_frames(media: Path) -> Iterator[_Shown]:
    """The video's frames in order, each with the stretch in which it is shown."""
    try:
        with opened(media) as container:
            stream = picture_stream(container)
            if stream is None:
                raise PublishError(f"{media}: has no picture, so it gives no stills")
            stream.thread_type = "AUTO"
            begin_s = origin_s(container)
            held: tuple[float, VideoFrame] | None = None
            for frame in _decoded(container, stream):
                if frame.time is None or frame.is_corrupt:
                    continue
                start_s = frame.time - begin_s
                if held is not None:
                    yield _Shown(held[1], held[0], max(held[0], start_s))
                held = start_s, frame
            if held is not None:
                yield _Shown(held[1], held[0], math.inf)
    except (MediaError, av.error.FFmpegError, OSError) as error:
        raise PublishError(f"{media}: the video cannot be read, so it gives no stills") from error


def _decoded(container: InputContainer, stream: VideoStream) -> Iterator[VideoFrame]:
    """Frames in order; damaged pieces are passed over, a file that breaks off ends there."""
    for packet in packets(container, stream):
        with suppress(av.error.FFmpegError):
            yield from packet.decode()
