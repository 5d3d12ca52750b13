"""The audio's own word on a reading: how probable the recogniser finds any given text.

A window is encoded once. Each text is then read over that part of the encoding in which it is
spoken (teacher forcing, `ctranslate2.models.Whisper.align`), without hot words: a bias would prefer
the trade's words whether they were said or not. Probabilities compare only between texts over the
same sound.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from pipeline.listen.recogniser import Decoded, as_array
from pipeline.listen.voice import Window
from pipeline.listen.weights import SpeechModel
from pipeline.models import Audio, Word

_FRAMES_PER_S = 50  # of the encoding
_MARGIN_S = 1.0
_CONTEXT = 4  # words read before and after the doubtful ones
_SHORTEST_FRAMES = 50
_LEAST = 1e-10
_TOGETHER = 16  # texts read at once

Encoded = NDArray[np.float32]


class Reading(NamedTuple):
    """How probable a text is by the sound, in nats: in its context, and by token of its own."""

    total: float
    own: float


class Judge(Protocol):
    """Whoever can say how probable texts are, given a sound."""

    def read(
        self, words: Sequence[Word], first: int, end: int, texts: Sequence[str]
    ) -> list[Reading]:
        """Each text read for words `first` to `end` (exclusive), amid the words beside them.

        Empty where the sound of the words is not known.
        """


@dataclass(frozen=True)
class Hearing:
    """Scores texts against the sound of a recording's windows, each encoded when first asked of."""

    model: SpeechModel
    windows: Sequence[Decoded]
    encode: Callable[[Window], Encoded]

    def read(
        self, words: Sequence[Word], first: int, end: int, texts: Sequence[str]
    ) -> list[Reading]:
        """As `Judge.read`; empty where no window holds the words."""
        window = self._window_of(words[first:end])
        if window is None or not texts:
            return []
        near = range(max(0, first - _CONTEXT), min(len(words), end + _CONTEXT))
        inside = [at for at in near if _lies_in(words[at], window)]
        before = self._tokens(words[at].text for at in inside if at < first)
        after = self._tokens(words[at].text for at in inside if at >= end)
        part = self._part(window, words[inside[0]], words[inside[-1]])
        told = [self._tokens([text]) for text in texts]
        readings: list[Reading] = []
        for at in range(0, len(told), _TOGETHER):
            batch = told[at : at + _TOGETHER]
            logs = self._logs(part, [[*before, *own, *after] for own in batch])
            readings += [
                Reading(float(log.sum()), float(log[len(before) : len(before) + len(own)].mean()))
                for log, own in zip(logs, batch, strict=True)
            ]
        return readings

    def _part(self, window: Window, first: Word, last: Word) -> Encoded:
        """The encoding of the sound from one word to another, with a margin."""
        start_s = max(0.0, joined_s(window, first.start_s) - _MARGIN_S)
        end_s = min(window.duration_s, joined_s(window, last.end_s) + _MARGIN_S)
        at = int(start_s * _FRAMES_PER_S)
        return self._encoded(window)[at : max(int(end_s * _FRAMES_PER_S), at + _SHORTEST_FRAMES)]

    def _logs(self, part: Encoded, tokens: list[list[int]]) -> list[NDArray[np.float64]]:
        """The natural logs of the probabilities of each token of some texts over one sound."""
        from ctranslate2 import StorageView  # noqa: PLC0415 (start-up stays light)

        repeated = np.ascontiguousarray(np.repeat(part[np.newaxis], len(tokens), axis=0))
        results = self.model.whisper.model.align(
            StorageView.from_array(repeated),
            self._tokenizer.sot_sequence,
            tokens,
            [2 * len(part)] * len(tokens),
        )
        return [np.log(np.maximum(result.text_token_probs, _LEAST)) for result in results]

    def _tokens(self, texts: Iterable[str]) -> list[int]:
        return [token for text in texts for token in self._tokenizer.encode(f" {text}")]

    @cached_property
    def _tokenizer(self) -> Any:
        from faster_whisper.tokenizer import Tokenizer  # noqa: PLC0415

        return Tokenizer(self.model.whisper.hf_tokenizer, True, task="transcribe", language="en")

    @cached_property
    def _kept(self) -> dict[Window, Encoded]:
        return {}

    def _encoded(self, window: Window) -> Encoded:
        if window not in self._kept:
            self._kept.clear()  # lines come in order: only one window is needed at a time
            self._kept[window] = self.encode(window)
        return self._kept[window]

    def _window_of(self, words: Sequence[Word]) -> Window | None:
        for each in self.windows:
            if all(_lies_in(word, each.window) for word in words):
                return each.window
        return None


def _lies_in(word: Word, window: Window) -> bool:
    whole, middle_s = window.interval, (word.start_s + word.end_s) / 2
    return whole.start_s <= middle_s <= whole.end_s


def joined_s(window: Window, time_s: float) -> float:
    """A time of the media in the window's joined sound; in a pause, where the pause was cut."""
    before_s = 0.0
    for piece in window.pieces:
        if time_s <= piece.end_s:
            return before_s + max(0.0, time_s - piece.start_s)
        before_s += piece.duration_s
    return before_s


def hearing(model: SpeechModel, audio: Audio, windows: Sequence[Decoded]) -> Hearing:
    """A judge of a recording's windows, by the encodings kept of them as far as there are any."""
    kept = {each.window: each.encoded for each in windows if each.encoded is not None}

    def encoded(window: Window) -> Encoded:
        if window in kept:
            return kept[window].astype(np.float32)
        return encode(model, window.samples(audio))

    return Hearing(model, windows, encoded)


def encode(model: SpeechModel, samples: NDArray[np.float32]) -> Encoded:
    """The recogniser's encoding of up to 30 s of sound, 50 frames a second."""
    from faster_whisper.audio import pad_or_trim  # noqa: PLC0415

    features = pad_or_trim(model.whisper.feature_extractor(samples)[..., :-1])
    encoded: Encoded = as_array(model.whisper.encode(features))[0].astype(np.float32)
    return encoded
