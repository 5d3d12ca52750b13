"""The listening step, whole: a recording in, its lines, its sound and its file's data out."""

from collections.abc import Sequence
from pathlib import Path

from pipeline.listen.lines import build_lines, flag_lines
from pipeline.listen.media import MediaInfo, Progress, read_media
from pipeline.listen.recogniser import Heard, transcribe
from pipeline.listen.weights import SpeechModel
from pipeline.models import Audio, Transcript

_READING = 0.1  # share of the work that decoding the sound takes


def listen(
    path: Path,
    model: SpeechModel,
    hotwords: Sequence[str] | None = None,
    progress: Progress | None = None,
) -> tuple[Transcript, Audio, MediaInfo]:
    """Hears a recording. `hotwords` are terms to expect, most wanted first.

    What of the recording could not be read is in the media info's notices.
    Raises MediaError where the recording cannot be read or has no sound track.
    """
    audio, info = read_media(path, _part(progress, 0.0, _READING))
    heard = transcribe(audio, model, hotwords, _part(progress, _READING, 1.0))
    return to_transcript(heard, info.duration_s), audio, info


def to_transcript(heard: Heard, duration_s: float) -> Transcript:
    """The lines of what was heard, with flags for what was hardly spoken."""
    lines = build_lines(heard.words, heard.unheard)
    return Transcript(
        origin="recogniser",
        lines=flag_lines(lines, heard.voiced, heard.hotwords),
        duration_s=duration_s,
    )


def _part(progress: Progress | None, start: float, end: float) -> Progress | None:
    """A progress that moves only from `start` to `end`."""
    if progress is None:
        return None
    return lambda share: progress(start + share * (end - start))
