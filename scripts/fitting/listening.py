"""Recordings of the split `fit`, listened to once: what was heard is kept beside them."""

import pickle
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from evaluating.cases import Case
from numpy.typing import NDArray

from lexicon.load import load_lexicon
from pipeline.listen.hear import to_transcript
from pipeline.listen.media import read_media
from pipeline.listen.recogniser import Heard, transcribe
from pipeline.listen.weights import SpeechModel
from pipeline.models import Transcript
from pipeline.weigh.hearing import Hearing, encode


@dataclass(frozen=True)
class Listened:
    """What was heard of a recording, and the encoding of each of its windows."""

    heard: Heard
    duration_s: float
    encoded: list[NDArray[np.float16]]

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


def listen(cases: Sequence[Case], model: SpeechModel, folder: Path) -> dict[str, Listened]:
    """What is heard of each recording; what an earlier call heard by the same model is read again.

    The recogniser is given the words of the kind that `log` begins with, a motorcycle's.
    """
    folder.mkdir(parents=True, exist_ok=True)
    return {case.name: _listened(case, model, folder) for case in cases}


def _listened(case: Case, model: SpeechModel, folder: Path) -> Listened:
    assert case.file is not None
    kept = folder / f"{case.name}.{model.name}.pickle"
    if kept.exists() and kept.stat().st_mtime > case.file.stat().st_mtime:
        with kept.open("rb") as file:
            listened: Listened = pickle.load(file)
        return listened
    audio, info = read_media(case.file)
    heard = transcribe(audio, model, load_lexicon("motorcycle").hotwords)
    sounds = [decoded.window.samples(audio) for decoded in heard.windows]
    encoded = [encode(model, sound).astype(np.float16) for sound in sounds]
    listened = Listened(heard, info.duration_s, encoded)
    with kept.open("wb") as file:
        pickle.dump(listened, file)
    return listened
