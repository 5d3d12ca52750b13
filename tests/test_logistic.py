"""Fitted probabilities."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.logistic import Logistic, load_model, some

EVEN = Logistic(0.0, {"for": 2.0, "against": -1.0})


@pytest.mark.parametrize(
    ("clues", "log_odds"),
    [({}, 0.0), ({"for": 1.0}, 2.0), ({"for": 1.0, "against": 3.0}, -1.0), ({"other": 9.0}, 0.0)],
)
def test_weights_are_log_odds(clues: dict[str, float], log_odds: float) -> None:
    assert EVEN.probability(clues) == pytest.approx(1 / (1 + math.exp(-log_odds)))


def test_a_clue_may_weigh_by_whether_there_is_any_of_it() -> None:
    bent = Logistic(0.0, {"doubt": 1.0, "some doubt": -2.0})
    for doubt, log_odds in ((0.0, 0.0), (0.025, 0.025 - 1.0), (0.05, 0.05 - 2.0), (1.0, 1.0 - 2.0)):
        expected = 1 / (1 + math.exp(-log_odds))
        assert bent.probability({"doubt": doubt}) == pytest.approx(expected)


@given(st.floats(-1e6, 1e6), st.floats(-1e6, 1e6))
def test_more_of_a_clue_is_never_less_than_some(one: float, other: float) -> None:
    less, more = sorted((one, other))
    assert 0.0 <= some(less) <= some(more) <= 1.0


def test_a_clue_that_is_there_counts_once() -> None:
    assert EVEN.probability_of(iter(["for", "for", "other"])) == EVEN.probability({"for": 1.0})


def test_the_farthest_is_still_a_probability() -> None:
    assert 0.0 < EVEN.probability({"against": 1e9}) < 1e-9
    assert 1 - 1e-9 < EVEN.probability({"for": 1e9}) <= 1.0


@pytest.mark.parametrize(
    ("step", "file", "table"),
    [
        *(("weigh", "repair", table) for table in ("again", "sound", "heard")),
        *(("weigh", file, of) for file in ("recordings", "captions") for of in ("finding", "line")),
        *(("understand", "hunches", table) for table in ("flaw", "part", "sentence")),
    ],
)
def test_the_fitted_models_are_there(step: str, file: str, table: str) -> None:
    model = load_model(step, file, table)
    assert model.weights
    assert 0.0 < model.probability({}) < 1.0
