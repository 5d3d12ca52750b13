"""Recordings of the split `fit`, listened to once: what was heard is kept beside them."""

import pickle
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from evaluating.cases import Case
from numpy.typing import NDArray

from lexicon.load import load_lexicon
from pipeline.listen.hear import to_transcript
from pipeline.listen.listeners import Listeners
from pipeline.listen.media import read_media
from pipeline.listen.recogniser import Heard, decode_spans, transcribe
from pipeline.listen.weights import SpeechModel
from pipeline.models import Transcript, Word
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


def listen(case: Case, listeners: Listeners, folder: Path) -> Listened:
    """What is heard of a recording; what an earlier call heard by the same models is read again.

    The recogniser is given the words of the kind that `log` begins with, a motorcycle's.
    """
    assert case.file is not None
    folder.mkdir(parents=True, exist_ok=True)
    names = f"{listeners.listening.first_name}.{listeners.listening.second_name}"
    kept = folder / f"{case.name}.{names}.pickle"
    if kept.exists() and kept.stat().st_mtime > case.file.stat().st_mtime:
        with kept.open("rb") as file:
            listened: Listened = pickle.load(file)
        return listened
    listened = _listened(case.file, listeners)
    with kept.open("wb") as file:
        pickle.dump(listened, file)
    return listened


def _listened(recording: Path, listeners: Listeners) -> Listened:
    first, second = listeners.first, listeners.second
    assert second is not None
    audio, info = read_media(recording)
    heard = transcribe(audio, first, load_lexicon("motorcycle").hotwords)
    sounds = [decoded.window.samples(audio) for decoded in heard.windows]
    lines = to_transcript(heard, info.duration_s).lines
    chosen = doubtful_lines(lines, BUDGET_SHARE * info.duration_s)
    return Listened(
        heard=heard,
        duration_s=info.duration_s,
        encoded=[encode(first, sound).astype(np.float16) for sound in sounds],
        chosen=chosen,
        again=decode_spans(audio, second, [lines[at].interval for at in chosen]),
    )
