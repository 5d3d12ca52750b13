"""How usual words are in a row."""

from collections.abc import Iterator
from math import exp, isclose

import pytest

from pipeline.weigh import language
from pipeline.weigh.language import END, Row, log_probability

FEW = {
    "one": {"<s>": 4, "a": 6, "dent": 2, "tear": 3, "</s>": 4},
    "two": {"<s> a": 3, "a dent": 2, "a tear": 3},
    "three": {"<s> a tear": 3},
}


@pytest.fixture
def few_counts(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    def forget() -> None:
        language._following.cache_clear()
        language._logarithm.cache_clear()

    forget()
    monkeypatch.setattr(language, "load_tables", lambda *_: FEW)
    yield
    forget()


@pytest.mark.usefixtures("few_counts")
def test_a_row_seldom_met_leans_on_the_shorter_one() -> None:
    """The Dirichlet prior of MacKay and Peto (1995), worked out by hand, two pseudo-counts."""
    alone = (2 + 0.05) / (19 + 0.05 * 25_000)
    after_a = (2 + 2 * alone) / (5 + 2)
    after_start_a = (0 + 2 * after_a) / (3 + 2)
    assert isclose(exp(log_probability(Row(["<s>", "a"], ["dent"], []))), after_start_a)


@pytest.mark.usefixtures("few_counts")
def test_what_follows_counts_as_well() -> None:
    alone = log_probability(Row(["a"], ["tear"], []))
    assert log_probability(Row(["a"], ["tear"], [END])) < alone


def test_what_salespeople_say_is_likelier_than_what_sounds_like_it() -> None:
    tear, dear = (
        log_probability(Row(["has", "a"], [word], ["along", "the"])) for word in ("tear", "dear")
    )
    assert tear > dear + 5
