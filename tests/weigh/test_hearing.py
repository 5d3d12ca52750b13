"""The recording's own word on a reading."""

import pytest

from pipeline.listen.recogniser import transcribe
from pipeline.listen.voice import Window
from pipeline.listen.weights import SpeechModel
from pipeline.models import Audio, Word
from pipeline.times import Interval
from pipeline.weigh.hearing import hearing, joined_s


def test_the_sound_prefers_what_was_said(phrases: Audio, model: SpeechModel) -> None:
    heard = transcribe(phrases, model)
    judge = hearing(model, phrases, heard.windows)
    at = next(n for n, word in enumerate(heard.words) if "scratch" in word.text.lower())
    said, other, far = judge.read(heard.words, at, at + 1, ["scratch.", "stretch.", "carburettor."])
    assert said.total > other.total > far.total
    assert said.own > far.own


def test_sound_that_no_window_holds_is_not_judged(phrases: Audio, model: SpeechModel) -> None:
    judge = hearing(model, phrases, [])
    word = Word(text="dent", start_s=1.0, end_s=1.5, probability=0.5)
    assert judge.read([word], 0, 1, ["dent"]) == []


@pytest.mark.parametrize(
    ("time_s", "joined"), [(2.0, 0.0), (3.0, 1.0), (5.0, 2.0), (8.5, 2.5), (12.0, 4.0)]
)
def test_times_in_the_joined_sound(time_s: float, joined: float) -> None:
    window = Window((Interval(start_s=2.0, end_s=4.0), Interval(start_s=8.0, end_s=10.0)))
    assert joined_s(window, time_s) == joined
