"""Sound in, timed words out: voice detection, windows, the recogniser, and its gates.

The batched decoder reads none of its own quality limits, so `is_failing` applies them: a failing
window is decoded once more, otherwise. Speech that voice detection hears and no word covers is
decoded once more alone. Everything runs at temperature 0: a second run gives the same words.
"""

from bisect import bisect_right
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from functools import lru_cache, partial
from itertools import islice
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from pipeline.listen.lines import repair_times, uncovered
from pipeline.listen.media import Progress
from pipeline.listen.voice import Window, voice_as_found, windows
from pipeline.listen.weights import SpeechModel
from pipeline.models import Audio, Word
from pipeline.times import Interval

if TYPE_CHECKING:
    from faster_whisper.transcribe import Segment

T = TypeVar("T")

HOTWORD_TOKENS = 223  # half of the recogniser's 448 tokens of context, less the start token

# Beam sizes of the first and of the second decoding. With hot words, a beam of 5 throughout found
# 92.2 % of the trade words where greedy found 91.5 %, for 1.6 times the time (six recordings).
_GREEDY, _CAREFUL = 1, 5
_TERMS = 5  # hot words to a sentence
_KEPT = 16  # windows whose encoding is kept, 1.5 MB each: eight minutes, whatever the length
_UNCOVERED_S = 0.8
_NEARLY = 0.99
_MARGIN_S = 0.2

# The limits that the library applies in its sequential mode.
_LOGPROB_LIMIT = -1.0
_NO_SPEECH_LIMIT = 0.6
_COMPRESSION_LIMIT = 2.4


@dataclass(frozen=True)
class Decoded:
    """One window as decoded, with the recogniser's own figures for the whole of it.

    `encoded` is the encoder's output, 50 frames a second, where it was kept. `avg_logprob` is the
    mean log-probability of a token, `no_speech_prob` 0 to 1, `compression_ratio` the text's length
    over its length when packed.
    """

    window: Window
    words: tuple[Word, ...]
    avg_logprob: float
    no_speech_prob: float
    compression_ratio: float
    encoded: NDArray[np.float16] | None = field(default=None, repr=False, compare=False)


@dataclass(frozen=True)
class Heard:
    """All that was heard, in time order and on the media's clock.

    `voiced` are the stretches with a voice in them; `unheard` those of which no word was made out.
    `hotwords` were given to the recogniser, in that order.
    """

    words: list[Word]
    voiced: list[Interval]
    unheard: list[Interval]
    windows: list[Decoded]
    hotwords: list[str]


def transcribe(
    audio: Audio,
    model: SpeechModel,
    hotwords: Sequence[str] | None = None,
    progress: Progress | None = None,
    voiced: Iterable[Interval] | None = None,
) -> Heard:
    """Hears the recording: English words with times and probabilities.

    `hotwords` bias the recogniser towards the given terms, most wanted first. `voiced` is where a
    voice is, if some of that is known already; what is not is found while the first is heard.
    """
    given = fit_hotwords(model, hotwords or ())
    found = voice_as_found(audio) if voiced is None else voiced
    voiced = []
    todo = windows(_kept(found, voiced), audio.duration_s)
    decoding = _decode(model, audio, todo, given, _GREEDY, progress=progress)
    first = [
        each if at < _KEPT else replace(each, encoded=None) for at, each in enumerate(decoding)
    ]
    decoded = _second_opinions(model, audio, first)
    words = repair_times([word for each in decoded for word in each.words], voiced)

    gaps = [_widened(gap, audio) for gap in uncovered(voiced, words, _UNCOVERED_S)]
    alone = list(_decode(model, audio, [Window((gap,)) for gap in gaps], (), _CAREFUL))
    rescued = [each for each in alone if each.words and not _is_invented(each)]
    if rescued:
        added = [word for each in rescued for word in each.words]
        words = repair_times(sorted([*words, *added], key=lambda word: word.start_s), voiced)
    if progress is not None:
        progress(1.0)
    return Heard(
        words=words,
        voiced=voiced,
        unheard=[each.window.interval for each in alone if each not in rescued],
        windows=[*decoded, *rescued],
        hotwords=given,
    )


def _kept(found: Iterable[Interval], kept: list[Interval]) -> Iterator[Interval]:
    """What is found, put into a list as it goes by."""
    for each in found:
        kept.append(each)
        yield each


def decode_spans(
    audio: Audio,
    model: SpeechModel,
    spans: Sequence[Interval],
    progress: Progress | None = None,
) -> list[Word]:
    """The words of some stretches alone, up to 29 s long, in time order; none that fail."""
    todo = windows(spans, audio.duration_s)
    decoded = _decode(model, audio, todo, (), _GREEDY, progress=progress)
    return [word for each in decoded if not is_failing(each) for word in each.words]


def fit_hotwords(model: SpeechModel, hotwords: Sequence[str]) -> list[str]:
    """The hot words that fit the recogniser's limit, taken in order.

    They are counted by the model's own tokenizer; the library would cut one in the middle.
    """
    given: list[str] = []
    for word in hotwords:
        if _tokens(model, [*given, word]) > HOTWORD_TOKENS:
            break
        given.append(word)
    return given


def is_failing(decoded: Decoded) -> bool:
    """Whether a window's figures say that its text cannot be trusted."""
    return decoded.avg_logprob < _LOGPROB_LIMIT or decoded.compression_ratio > _COMPRESSION_LIMIT


def _is_invented(decoded: Decoded) -> bool:
    """Whether words of a sound decoded alone, which no window had words for, cannot be trusted."""
    return is_failing(decoded) or decoded.no_speech_prob > _NO_SPEECH_LIMIT


def _tokens(model: SpeechModel, hotwords: Sequence[str]) -> int:
    encoding = model.whisper.hf_tokenizer.encode(
        f" {hotword_prompt(hotwords)}", add_special_tokens=False
    )
    return len(encoding.ids)


def hotword_prompt(hotwords: Sequence[str]) -> str:
    """Hot words as the recogniser is given them: sentences of five, for it writes as it is shown.

    After a bare list it wrote no sentence end in 96 sentences, after these 91, and heard the same
    trade words.
    """
    groups = (hotwords[at : at + _TERMS] for at in range(0, len(hotwords), _TERMS))
    return " ".join(f"{', '.join(group)}.".capitalize() for group in groups)


def _second_opinions(model: SpeechModel, audio: Audio, first: list[Decoded]) -> list[Decoded]:
    """Failing windows decoded again, with a wider beam and no hot words; the better one stays."""
    failing = [each for each in first if is_failing(each)]
    again = iter(list(_decode(model, audio, [each.window for each in failing], (), _CAREFUL)))
    return [
        max(each, next(again), key=lambda d: (not is_failing(d), d.avg_logprob))
        if is_failing(each)
        else each
        for each in first
    ]


def _widened(gap: Interval, audio: Audio) -> Interval:
    return Interval(
        start_s=max(0.0, gap.start_s - _MARGIN_S),
        end_s=min(audio.duration_s, gap.end_s + _MARGIN_S),
    )


def _decode(
    model: SpeechModel,
    audio: Audio,
    todo: Iterable[Window],
    hotwords: Sequence[str],
    beam_size: int,
    *,
    progress: Progress | None = None,
) -> Iterator[Decoded]:
    """Decodes windows in batches, as many side by side as the model hears at once.

    The batches do not depend on how many that are, so neither do the words.
    """
    pool = ThreadPoolExecutor(model.batches_at_once)
    calls = (
        partial(_decode_batch, model, audio, batch, hotwords, beam_size)
        for batch in _batches(todo, model)
    )
    try:
        for decoded in _in_order(pool, calls, model.batches_at_once):
            yield from decoded
            if progress is not None:
                done_s = decoded[-1].window.interval.end_s
                progress(min(_NEARLY, done_s / audio.duration_s))
    finally:
        pool.shutdown(cancel_futures=True)


def _in_order(pool: Executor, calls: Iterable[Callable[[], T]], ahead: int) -> Iterator[T]:
    """What calls return, with so many of them begun ahead of the one that is waited for."""
    coming: deque[Future[T]] = deque()
    for call in calls:
        coming.append(pool.submit(call))
        if len(coming) > ahead:
            yield coming.popleft().result()
    while coming:
        yield coming.popleft().result()


def _batches(todo: Iterable[Window], model: SpeechModel) -> Iterator[list[Window]]:
    """Full batches; a recording too short for that is split evenly, to be heard side by side."""
    todo = iter(todo)
    first = list(islice(todo, model.shares * model.batch))
    size = max(1, min(model.batch, -(-len(first) // model.shares)))
    # The last window is the shortest one, so what does not fill a batch comes first.
    ends = range(len(first), 0, -size)[::-1]
    yield from (first[max(0, end - size) : end] for end in ends)
    while batch := list(islice(todo, size)):
        yield batch


def _decode_batch(
    model: SpeechModel,
    audio: Audio,
    batch: Sequence[Window],
    hotwords: Sequence[str],
    beam_size: int,
) -> list[Decoded]:
    sounds = [window.samples(audio) for window in batch]
    ends_s = np.cumsum([len(sound) for sound in sounds]) / audio.rate
    starts_s = [0.0, *(float(end) for end in ends_s[:-1])]
    # A pipeline remembers the last speech time until its generator has run to the end: a fresh
    # one each time, and the generator drained.
    pipeline = _pipeline_type()(model.whisper)
    segments, _ = pipeline.transcribe(
        np.concatenate(sounds),
        language="en",
        beam_size=beam_size,
        temperature=0.0,
        condition_on_previous_text=False,
        word_timestamps=True,
        hotwords=hotword_prompt(hotwords) or None,
        batch_size=len(batch),
        clip_timestamps=[
            {"start": start, "end": float(end)} for start, end in zip(starts_s, ends_s, strict=True)
        ],
    )
    parts: list[list[Segment]] = [[] for _ in batch]
    for segment in list(segments):
        # `seek` is the start of the segment's window in hundredths of a second, rounded down.
        parts[bisect_right(starts_s, segment.seek / 100 + 0.01) - 1].append(segment)
    kept = zip(batch, starts_s, parts, pipeline.encoded, strict=True)
    return [
        Decoded(
            window=window,
            words=tuple(_words(own, window, start_s)),
            avg_logprob=min((part.avg_logprob for part in own), default=0.0),
            no_speech_prob=max((part.no_speech_prob for part in own), default=1.0),
            compression_ratio=max((part.compression_ratio for part in own), default=0.0),
            encoded=encoded,
        )
        for window, start_s, own, encoded in kept
    ]


def as_array(view: Any) -> NDArray[Any]:
    """What the recogniser holds, as an array; what lies on a card is copied from there."""
    from ctranslate2 import Device  # noqa: PLC0415

    return np.array(view if view.device == "cpu" else view.to_device(Device.cpu))


@lru_cache
def _pipeline_type() -> Any:
    """The library's batched pipeline, which keeps what it encodes: a batch is one call here."""
    from faster_whisper import BatchedInferencePipeline  # noqa: PLC0415 (start-up stays light)

    class Keeping(BatchedInferencePipeline):  # type: ignore[misc]
        encoded: NDArray[np.float16]

        def generate_segment_batched(self, *given: Any) -> Any:
            output, results = super().generate_segment_batched(*given)
            self.encoded = as_array(output).astype(np.float16)
            return output, results

    return Keeping


def _words(segments: "Sequence[Segment]", window: Window, start_s: float) -> list[Word]:
    """The window's words on the media's clock; "1" and "/16" are one word, "1/16"."""
    words: list[Word] = []
    for part in (word for segment in segments for word in segment.words or ()):
        text = part.word.strip()
        spot = window.on_media(part.start - start_s, max(part.start, part.end) - start_s)
        if words and text and not part.word.startswith(" "):
            last = words[-1]
            words[-1] = last.model_copy(
                update={
                    "text": last.text + text,
                    "end_s": max(last.end_s, spot.end_s),
                    "probability": min(last.probability or 0.0, float(part.probability)),
                }
            )
        elif text:
            words.append(
                Word(
                    text=text,
                    start_s=spot.start_s,
                    end_s=spot.end_s,
                    probability=float(part.probability),
                )
            )
    return words
