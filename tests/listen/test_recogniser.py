"""Words with times from the default weights, the gates, and speech that no word covers."""

from collections.abc import Sequence
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from pipeline.listen import recogniser
from pipeline.listen.hear import to_transcript
from pipeline.listen.recogniser import (
    HOTWORD_TOKENS,
    Decoded,
    Heard,
    fit_hotwords,
    hotword_prompt,
    is_failing,
    transcribe,
)
from pipeline.listen.voice import Window
from pipeline.listen.weights import SpeechModel
from pipeline.models import Audio, Word
from pipeline.times import Interval
from tests.listen.conftest import PHRASES


@pytest.fixture(scope="module")
def heard(phrases: Audio, model: SpeechModel) -> Heard:
    return transcribe(phrases, model)


def test_three_phrases_two_long_pauses_known_times(heard: Heard) -> None:
    lines = to_transcript(heard, 20.0).lines

    assert [line.text for line in lines] == [text for _, _, text in PHRASES]
    for line, (start_s, end_s, _) in zip(lines, PHRASES, strict=True):
        assert line.start_s == pytest.approx(start_s, abs=0.2)
        assert line.end_s == pytest.approx(end_s, abs=0.4)
        assert line.status == "heard"
        assert all(word.probability is not None for word in line.words)


def test_the_figures_of_each_window_are_kept(heard: Heard) -> None:
    (window,) = heard.windows

    assert -1.0 < window.avg_logprob < 0.0
    assert 0.0 <= window.no_speech_prob < 0.5
    assert 0.5 < window.compression_ratio < 2.4
    assert heard.unheard == []


def test_a_second_run_gives_the_same_even_after_an_interruption(
    phrases: Audio, model: SpeechModel, heard: Heard
) -> None:
    def stop(_: float) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        transcribe(phrases, model, progress=stop)

    assert transcribe(phrases, model) == heard


def test_clips_shorter_than_a_window_keep_their_times(phrases: Audio, model: SpeechModel) -> None:
    start_s, end_s, _ = PHRASES[2]
    cut = Audio(phrases.samples[round((start_s - 0.5) * phrases.rate) :], phrases.rate)

    words = transcribe(cut, model).words

    assert words[0].start_s == pytest.approx(0.5, abs=0.2)
    assert words[-1].end_s == pytest.approx(0.5 + end_s - start_s, abs=0.4)


@pytest.mark.parametrize("level", [0.0, 0.05])
def test_hot_words_are_not_spoken_back_over_silence_and_noise(
    level: float, model: SpeechModel
) -> None:
    noise = np.random.default_rng(3).standard_normal(16_000 * 8).astype(np.float32)

    heard = transcribe(Audio(level * noise, 16_000), model, ["saddlebag", "kickstand", "fork seal"])

    assert heard.words == []
    assert heard.unheard == []


# --- hot words ----------------------------------------------------------------------------------


def test_hot_words_are_counted_by_the_models_tokenizer(model: SpeechModel) -> None:
    wanted = [f"swingarm bushing {number}" for number in range(100)]

    given = fit_hotwords(model, wanted)

    assert given == wanted[: len(given)]
    assert 0 < len(given) < len(wanted)
    prompt = " " + hotword_prompt(given)
    tokens = model.whisper.hf_tokenizer.encode(prompt, add_special_tokens=False)
    assert HOTWORD_TOKENS - 9 <= len(tokens.ids) <= HOTWORD_TOKENS
    assert fit_hotwords(model, []) == []
    assert fit_hotwords(model, ["chrome"]) == ["chrome"]


def test_hot_words_are_given_as_sentences() -> None:
    assert hotword_prompt([]) == ""
    assert hotword_prompt(["chrome"]) == "Chrome."
    assert hotword_prompt(["a", "b", "c", "d", "e", "f", "g"]) == "A, b, c, d, e. F, g."


# --- gates --------------------------------------------------------------------------------------

WINDOW = Window((Interval(start_s=0.0, end_s=10.0),))


def decoded(
    words: Sequence[Word] = (),
    avg_logprob: float = -0.2,
    no_speech_prob: float = 0.1,
    compression_ratio: float = 1.5,
    window: Window = WINDOW,
) -> Decoded:
    return Decoded(window, tuple(words), avg_logprob, no_speech_prob, compression_ratio)


@pytest.mark.parametrize(
    ("figures", "failing"),
    [
        ({}, False),
        ({"avg_logprob": -1.1}, True),
        ({"compression_ratio": 2.5}, True),
        ({"no_speech_prob": 0.9}, False),
    ],
)
def test_the_gates(figures: dict[str, float], failing: bool) -> None:
    assert is_failing(decoded(**figures)) is failing


class Script:
    """In the decoder's place: plays given results, and notes what it was asked for."""

    def __init__(self, results: list[Decoded]) -> None:
        self.results = results
        self.asked: list[tuple[Interval, tuple[str, ...], int]] = []

    def __call__(
        self,
        model: SpeechModel,
        audio: Audio,
        batch: Sequence[Window],
        hotwords: Sequence[str],
        beam_size: int,
    ) -> list[Decoded]:
        assert model.name == "none"
        assert audio.rate == 16_000
        self.asked += [(window.interval, tuple(hotwords), beam_size) for window in batch]
        return [replace(self.results.pop(0), window=window) for window in batch]


TEN_SECONDS = Audio(np.zeros(160_000, np.float32), 16_000)
FIRST = Word(text="Chip.", start_s=1.0, end_s=1.5, probability=0.9)
LATER = Word(text="Dent.", start_s=6.2, end_s=6.8, probability=0.9)


@pytest.fixture
def play(monkeypatch: pytest.MonkeyPatch):
    def with_results(voiced: list[Interval], results: list[Decoded]) -> tuple[Heard, Script]:
        script = Script(results)
        monkeypatch.setattr(recogniser, "voice_as_found", lambda _: iter(voiced))
        monkeypatch.setattr(recogniser, "_decode_batch", script)
        return transcribe(TEN_SECONDS, SpeechModel("none", None)), script

    return with_results


def test_a_failing_window_is_decoded_once_more(play) -> None:
    voiced = [Interval(start_s=1.0, end_s=1.5)]
    loop = decoded([FIRST], avg_logprob=-0.1, compression_ratio=9.0)

    heard, script = play(voiced, [loop, decoded([FIRST], avg_logprob=-0.6)])

    assert len(script.asked) == 2
    assert script.asked[1][2] > script.asked[0][2]
    assert [window.avg_logprob for window in heard.windows] == [-0.6]


def test_the_better_of_two_failing_decodings_stays(play) -> None:
    voiced = [Interval(start_s=1.0, end_s=1.5)]

    heard, _ = play(
        voiced, [decoded([FIRST], avg_logprob=-1.2), decoded([FIRST], avg_logprob=-1.9)]
    )

    assert [window.avg_logprob for window in heard.windows] == [-1.2]


def test_speech_that_no_word_covers_is_decoded_alone(play) -> None:
    voiced = [Interval(start_s=1.0, end_s=1.5), Interval(start_s=6.0, end_s=7.0)]

    heard, script = play(voiced, [decoded([FIRST]), decoded([LATER])])

    assert [word.text for word in heard.words] == ["Chip.", "Dent."]
    assert script.asked[1][0].start_s == pytest.approx(5.8)
    assert script.asked[1][0].end_s == pytest.approx(7.2)
    assert heard.unheard == []


@pytest.mark.parametrize(
    "again",
    [decoded(), decoded([LATER], avg_logprob=-1.5), decoded([LATER], no_speech_prob=0.9)],
    ids=["no words", "improbable words", "words without speech"],
)
def test_speech_that_stays_without_words_is_a_flagged_line(play, again: Decoded) -> None:
    voiced = [Interval(start_s=1.0, end_s=1.5), Interval(start_s=6.0, end_s=7.0)]

    heard, _ = play(voiced, [decoded([FIRST]), again])
    lines = to_transcript(heard, 10.0).lines

    assert [(line.status, line.flags) for line in lines] == [
        ("heard", []),
        ("unheard", ["speech_not_transcribed"]),
    ]
    assert (lines[1].start_s, lines[1].end_s) == (5.8, 7.2)


def test_short_sounds_without_words_are_let_be(play) -> None:
    voiced = [Interval(start_s=1.0, end_s=1.5), Interval(start_s=6.0, end_s=6.5)]

    heard, script = play(voiced, [decoded([FIRST])])

    assert len(script.asked) == 1
    assert heard.unheard == []


# --- words --------------------------------------------------------------------------------------


def _part(word: str, start: float, probability: float) -> SimpleNamespace:
    return SimpleNamespace(word=word, start=start, end=start + 0.2, probability=probability)


def test_pieces_of_a_word_are_joined() -> None:
    segment = SimpleNamespace(
        words=[
            _part(" A", 20.0, 0.9),
            _part(" 1", 20.2, 0.8),
            _part("/16", 20.4, 0.5),
            _part(" two", 20.6, 0.7),
            _part("-inch", 20.8, 0.9),
            _part(" ", 21.0, 0.9),
        ]
    )

    words = recogniser._words([segment], WINDOW, 20.0)

    assert [(word.text, round(word.start_s, 2), round(word.end_s, 2)) for word in words] == [
        ("A", 0.0, 0.2),
        ("1/16", 0.2, 0.6),
        ("two-inch", 0.6, 1.0),
    ]
    assert [word.probability for word in words] == [0.9, 0.5, 0.7]
