"""A moment of the recording, heard and seen; where the recording has moved, its place is asked."""

import io
import os
import sys
from collections.abc import Callable
from pathlib import Path

import av
import click
from PIL import Image

from pipeline.errors import MediaError, ReviewError
from pipeline.listen.media import opened, origin_s, packets, picture_stream
from pipeline.models import Record
from pipeline.record import findings_path
from pipeline.review.clips import Player, put, recording_of
from pipeline.times import Interval

_JPEG_QUALITY = 85


class Moments:
    """What a record's recording lets a reviewer hear and see.

    `ask` is called with a prompt when the recording is first needed and not found; an empty answer
    is not asked for again. Raises as `recording_of` does where `moved_to` is given.
    """

    def __init__(
        self, record: Record, findings: Path, ask: Callable[[str], str], moved_to: Path | None
    ) -> None:
        self._record = record
        self._findings = findings
        self._folder = findings_path(findings).parent / "clips"
        self._ask = ask
        self._at = recording_of(record, findings, moved_to)
        self._done_without = False
        self._player: Player | None = None

    def hear(self, interval: Interval, speed: float = 1.0) -> Path | None:
        """Plays an interval as `Player.hear` does. Also raises ReviewError without a recording."""
        recording = self._recording()
        if self._player is None:
            self._player = Player(recording, self._folder)
        return self._player.hear(interval, speed)

    def see(self, at_s: float) -> Path | None:
        """Opens the frame that is shown at a time; without a display, the path it is written to.

        Raises MediaError where there is no such frame, RecordError where it cannot be written,
        ReviewError without a recording.
        """
        path = put(self._folder, f"{at_s:.1f}.jpg", frame_at(self._recording(), at_s))
        return None if _has_display() and click.launch(str(path.resolve())) == 0 else path

    def _recording(self) -> Path:
        if self._at is None and not self._done_without:
            name = self._record.source.file_name
            typed = self._ask(f"Where is {name} now (Enter goes on without)")
            self._done_without = not typed
            if typed:
                self._at = recording_of(self._record, self._findings, Path(typed).expanduser())
        if self._at is None:
            raise ReviewError("without the recording nothing can be heard or seen")
        return self._at


def frame_at(recording: Path, at_s: float) -> bytes:
    """The frame that is on the screen at a time of the media's clock, upright, as JPEG.

    Raises MediaError where the recording cannot be read or shows nothing then.
    """
    with opened(recording) as container:
        stream = picture_stream(container)
        if stream is None:
            raise MediaError(f"{recording}: has no picture")
        wanted_s = at_s + origin_s(container)
        shown = None
        try:
            container.seek(int(wanted_s * av.time_base))
            for frame in (f for packet in packets(container, stream) for f in packet.decode()):
                if shown is not None and frame.time is not None and frame.time > wanted_s:
                    break
                shown = frame
        except av.error.FFmpegError as error:
            if shown is None:
                raise MediaError(f"{recording}: no picture can be read at {at_s:g} s") from error
        if shown is None:
            raise MediaError(f"{recording}: shows no picture at {at_s:g} s")
        content = io.BytesIO()
        picture = Image.fromarray(shown.to_ndarray(format="rgb24"))
        upright = picture.rotate(shown.rotation, expand=True)
        upright.save(content, "JPEG", quality=_JPEG_QUALITY)
        return content.getvalue()


def _has_display() -> bool:
    windowed = sys.platform in ("win32", "darwin")
    return windowed or any(os.environ.get(name) for name in ("DISPLAY", "WAYLAND_DISPLAY"))
