"""Hearing the stretch of a recording that a question is about: played, or else put in a file."""

import io
import os
import wave
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import cached_property
from pathlib import Path, PurePath

import miniaudio  # type: ignore[import-untyped]
import numpy as np
from numpy.typing import NDArray

from pipeline.errors import RecordError, ReviewError
from pipeline.listen.media import digest, read_audio
from pipeline.models import Audio, Record
from pipeline.record import findings_path, is_file, write_atomically
from pipeline.times import Interval

_LEAD_S = 1.0  # heard before and after the words, so that the ear finds its way in
_SAMPLE_BYTES = 2
_FULL_SCALE = 2 ** (8 * _SAMPLE_BYTES - 1) - 1
# The null back end takes sound and lets nobody hear it.
_BACKENDS = [backend for backend in miniaudio.Backend if backend is not miniaudio.Backend.NULL]


def recording_of(record: Record, findings: Path, moved_to: Path | None = None) -> Path | None:
    """The recording of a findings file: by its name in the file's folder, or in the one above.

    Where the user says that it has `moved_to` another place, its digest must be the record's.
    Raises MediaError where that file cannot be read, ReviewError where it is another recording.
    """
    if moved_to is not None:
        if digest(moved_to) != record.source.sha256:
            raise ReviewError(f"{moved_to}: is not the recording that these findings are from")
        return moved_to
    folder = findings_path(findings).resolve().parent
    name = PurePath(record.source.file_name).name  # a path would lead elsewhere
    return next((at / name for at in (folder, folder.parent) if is_file(at / name)), None)


def clip(audio: Audio, interval: Interval) -> Audio:
    """The sound of an interval with a second before and after, as far as there is any."""
    first = max(0, round((interval.start_s - _LEAD_S) * audio.rate))
    last = max(first, round((interval.end_s + _LEAD_S) * audio.rate))
    return Audio(samples=audio.samples[first:last], rate=audio.rate)


def wav(audio: Audio) -> bytes:
    """The sound as a WAV file: mono, 16 bits."""
    target = io.BytesIO()
    with wave.open(target, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(_SAMPLE_BYTES)
        file.setframerate(audio.rate)
        file.writeframes(_pcm(audio))
    return target.getvalue()


def write_clip(media_path: Path, interval: Interval, out_wav: Path) -> None:
    """Writes an interval of a recording as a WAV file, on the media's clock.

    Raises MediaError where the recording cannot be read, RecordError where the clip cannot be
    written.
    """
    write_atomically(out_wav, wav(clip(read_audio(media_path), interval)))


class Player:
    """Plays clips of one recording; its sound is decoded when the first is asked for."""

    def __init__(self, recording: Path, clips_folder: Path) -> None:
        self._recording = recording
        self._clips_folder = clips_folder
        self._device: miniaudio.PlaybackDevice | None = None

    @cached_property
    def _audio(self) -> Audio:
        return read_audio(self._recording)

    def hear(self, interval: Interval, speed: float = 1.0) -> Path | None:
        """Plays an interval while the program goes on; what still plays is cut short.

        At half the `speed` it takes twice as long, and sounds an octave lower.

        Without a sound device the clip is written to a file, whose path is returned.

        Raises MediaError where the recording cannot be read, RecordError where no clip can be
        written.
        """
        self.stop()
        heard = clip(self._audio, interval)
        heard = replace(heard, rate=round(heard.rate * speed))
        try:
            with _quiet_libraries():
                self._device = miniaudio.PlaybackDevice(
                    miniaudio.SampleFormat.SIGNED16, 1, heard.rate, backends=_BACKENDS
                )
                self._device.start(miniaudio.stream_raw_pcm_memory(_pcm(heard), 1, _SAMPLE_BYTES))
        except miniaudio.MiniaudioError:
            name = f"{interval.start_s:.1f}-{interval.end_s:.1f}.wav"
            return put(self._clips_folder, name, wav(heard))
        return None

    def stop(self) -> None:
        """Cuts short what still plays."""
        if self._device:
            self._device.close()
            self._device = None


def put(folder: Path, name: str, content: bytes) -> Path:
    """Writes a file into a folder of clips and stills, made where it is missing.

    Raises RecordError where it cannot be written.
    """
    path = folder / name
    if folder.is_symlink():
        raise RecordError(f"{folder}: is a link; put a folder in its place")
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        raise RecordError(f"{path}: cannot be written: {error.strerror}") from error
    write_atomically(path, content)
    return path


def _pcm(audio: Audio) -> bytes:
    samples: NDArray[np.float32] = np.clip(audio.samples, -1.0, 1.0) * _FULL_SCALE
    return samples.astype("<i2").tobytes()


@contextmanager
def _quiet_libraries() -> Iterator[None]:
    """Sound libraries of the system write their search for a device to the terminal itself."""
    shown = os.dup(2)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(shown, 2)
        os.close(shown)
        os.close(nowhere)
