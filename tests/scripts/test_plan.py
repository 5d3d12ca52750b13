from collections import Counter

import pytest
from rendering.conditions import NOISY, QUIET
from rendering.plan import PASSES, SPLITS, plan
from rendering.voices import RATES, VOICES, said, voices_of

NARRATIONS = [f"n-{number:02}" for number in range(14)]


def test_splits_share_no_voice() -> None:
    speakers = [(voice.engine, voice.speaker) for voice in VOICES]
    assert len(set(speakers)) == len(speakers) >= 6
    assert {voice.split for voice in VOICES} == set(SPLITS)


@pytest.mark.parametrize("split", SPLITS)
def test_each_narration_once_quiet_then_noisy_by_other_voices(split: str) -> None:
    todo = plan(split, NARRATIONS)
    assert len({item.name for item in todo}) == len(todo) == PASSES * len(NARRATIONS)
    for narration in NARRATIONS:
        own = [item for item in todo if item.narration == narration]
        assert [item.condition in QUIET for item in own] == [True] + [False] * (len(own) - 1)
        assert len({item.voice for item in own}) == len(own)


@pytest.mark.parametrize("split", SPLITS)
def test_voices_rates_and_conditions_come_up_evenly(split: str) -> None:
    todo = plan(split, NARRATIONS)
    _even(Counter(item.voice for item in todo), len(voices_of(split)))
    _even(Counter((item.voice, item.rate) for item in todo), len(voices_of(split)) * len(RATES))
    quiet = [item for item in todo if item.condition in QUIET]
    noisy = [item for item in todo if item.condition in NOISY]
    _even(Counter(item.condition for item in quiet), len(QUIET))
    _even(Counter(item.condition for item in noisy), len(NOISY))
    _even(Counter((item.voice, item.condition) for item in quiet), len(voices_of(split)) * 2)


def test_a_plan_depends_on_its_seed_alone() -> None:
    assert plan("check", NARRATIONS) == plan("check", NARRATIONS[::-1])
    assert plan("check", NARRATIONS, seed=1) != plan("check", NARRATIONS, seed=2)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("A small dent, a two-inch scratch.", "A small dent, a two inch scratch."),
        ("Stock number A six six zero four.", "Stock number eigh six six zero four."),
        ("The stock number is A D V six six.", "The stock number is eigh D V six six."),
        ("G as in George, eight, A, six, nine.", "G as in George, eight, eigh, six, nine."),
        ("That A-arm's bent.", "That eigh arm's bent."),
        ("Stock number three one seven A.", "Stock number three one seven eigh."),
    ],
)
def test_a_spelled_letter_stays_a_letter(text: str, wanted: str) -> None:
    assert said(text) == wanted


def _even(counts: Counter[object], kinds: int) -> None:
    assert len(counts) == kinds
    assert max(counts.values()) - min(counts.values()) <= 2
