"""Recordings, listened to once: what was heard is kept beside them."""

import pickle
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from evaluating.cases import Case
from numpy.typing import NDArray

from pipeline.listen.hear import to_transcript
from pipeline.listen.media import read_media
from pipeline.listen.recogniser import Decoded, Heard, decode_spans, transcribe
from pipeline.listen.weights import SpeechModel
from pipeline.models import Audio, Transcript, Word
from pipeline.weigh.again import BUDGET_SHARE, doubtful_lines
from pipeline.weigh.hearing import Hearing, encode


@dataclass(frozen=True)
class Listened:
    """What was heard of a recording, the encoding of each of its windows, and what a second
    listener heard of the lines (by index) that were chosen for him."""

    heard: Heard
    duration_s: float
    encoded: list[NDArray[np.float16]]
    chosen: list[int]
    again: list[Word]

    @property
    def transcript(self) -> Transcript:
        """The lines of what was heard."""
        return to_transcript(self.heard, self.duration_s)

    def judge(self, model: SpeechModel) -> Hearing:
        """A judge of its sound that need not encode it again."""
        windows = [decoded.window for decoded in self.heard.windows]
        return Hearing(
            model,
            self.heard.windows,
            lambda window: self.encoded[windows.index(window)].astype(np.float32),
        )


def listen(case: Case, first: SpeechModel, second: SpeechModel, folder: Path) -> Listened:
    """What is heard of a recording; what an earlier call heard by the same models is read again."""
    assert case.file is not None
    folder.mkdir(parents=True, exist_ok=True)
    kept = folder / f"{case.name}.{first.name}.{second.name}.pickle"
    if kept.exists() and kept.stat().st_mtime > case.file.stat().st_mtime:
        with kept.open("rb") as file:
            listened: Listened = pickle.load(file)
        return listened
    listened = _listened(case.file, first, second)
    with kept.open("wb") as file:
        pickle.dump(listened, file)
    return listened


def _listened(recording: Path, first: SpeechModel, second: SpeechModel) -> Listened:
    audio, info = read_media(recording)
    heard = transcribe(audio, first)
    lines = to_transcript(heard, info.duration_s).lines
    chosen = doubtful_lines(lines, BUDGET_SHARE * info.duration_s)
    return Listened(
        heard=heard,
        duration_s=info.duration_s,
        encoded=[_encoded(decoded, audio, first) for decoded in heard.windows],
        chosen=chosen,
        again=decode_spans(audio, second, [lines[at].interval for at in chosen]),
    )


def _encoded(decoded: Decoded, audio: Audio, model: SpeechModel) -> NDArray[np.float16]:
    """The encoding of a window, as decoding kept it where it did."""
    if decoded.encoded is not None:
        return decoded.encoded
    return encode(model, decoded.window.samples(audio)).astype(np.float16)
