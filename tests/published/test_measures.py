"""Error rates and calibration against published rows and against independent implementations."""

import numpy as np
import pytest
import werpy
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binned_statistic  # type: ignore[import-untyped]

from lexicon.load import load_lexicon
from pipeline.score.hearing import heard, plain_words
from pipeline.score.measures import Promises, Share

LEXICON = load_lexicon("motorcycle")

# Words that our measure neither leaves out (numbers, letters) nor joins ("saddle bag").
WORDS = ["hello", "rust", "on", "the", "rim", "we", "have", "duck", "python", "world", "like"]
talk = st.lists(st.sampled_from(WORDS), max_size=12)


def rate(said: str, transcribed: str) -> Share:
    return heard(said, transcribed, LEXICON).words


def edits(said: list[str], transcribed: list[str]) -> int:
    """Wagner and Fischer's distance of two rows of words, as it stands in the text-books."""
    row = list(range(len(transcribed) + 1))
    for i, word in enumerate(said, 1):
        previous, row = row, [i]
        for j, other in enumerate(transcribed, 1):
            row.append(min(previous[j] + 1, row[-1] + 1, previous[j - 1] + (word != other)))
    return row[-1]


@pytest.mark.published("jiwer's tests and documentation (14 Feb 2025): rows of words alone")
@pytest.mark.parametrize(
    ("said", "transcribed", "errors", "words"),
    [
        ("hello world", "hello duck", 1, 2),
        ("this is a test", "this is a test", 0, 4),
        ("this is a test", "", 4, 4),
        ("this is a test", "this test", 2, 4),
        ("i am a short ground truth",
         "i am a considerably longer and very much incorrect hypothesis", 7, 6),
        ("this test will have a high word error rate", "no it will not", 8, 9),
        ("i can spell", "i kan cpell", 2, 3),
        ("", "", 0, 0),
        ("", "silence", 1, 0),
        ("", "peaceful silence", 2, 0),
    ],
)  # fmt: skip
def test_published_rows(said: str, transcribed: str, errors: int, words: int) -> None:
    assert rate(said, transcribed) == Share(errors, words)


@pytest.mark.published("jiwer's documentation: counts of several references are added first")
def test_counts_are_added_first() -> None:
    both = rate("hello world", "hello duck") + rate("i like monthy python", "i like python")
    assert both.ratio == pytest.approx(1 / 3)


@pytest.mark.published("word error rate by Wagner and Fischer's rule, and by werpy")
@given(talk.filter(bool), talk)
def test_word_error_rate_of_others(said: list[str], transcribed: list[str]) -> None:
    ours = rate(" ".join(said), " ".join(transcribed))
    assert ours == Share(edits(said, transcribed), len(said))
    if transcribed:
        assert ours.ratio == pytest.approx(werpy.wer(" ".join(said), " ".join(transcribed)))


@pytest.mark.published("jiwer folds neither case nor marks: ours does, before it compares")
def test_case_and_marks_are_no_errors() -> None:
    assert plain_words("Rust, on the RIM.") == ["rust", "on", "the", "rim"]
    assert rate("Rust, on the rim.", "rust on the rim").count == 0


# --- calibration --------------------------------------------------------------------------------

promised = st.lists(
    # Over a prime, so that none falls on the border of two bins, where implementations differ.
    st.tuples(st.integers(0, 997).map(lambda n: n / 997), st.booleans()),
    min_size=2,
    max_size=60,
).filter(lambda made: len({right for _, right in made}) == 2)


@pytest.mark.published("Guo et al. (ICML 2017) eq. 3 and 5, with SciPy's binned statistics")
@given(promised, st.sampled_from([1, 5, 10, 15]))
def test_calibration_errors_of_another(made: list[tuple[float, bool]], bins: int) -> None:
    sure, right = np.array([p for p, _ in made]), np.array([float(r) for _, r in made])
    means, _, _ = binned_statistic(sure, [right, sure], bins=bins, range=(0, 1))
    counts, _, _ = binned_statistic(sure, None, "count", bins=bins, range=(0, 1))
    gaps = np.abs(means[0] - means[1])[counts > 0]
    ours = Promises(tuple(made))
    assert ours.ece(bins) == pytest.approx(float(np.average(gaps, weights=counts[counts > 0])))
    assert ours.mce(bins) == pytest.approx(float(gaps.max()))


@pytest.mark.published("Brier (1950): the mean square of promise less outcome")
@given(promised)
def test_brier_score(made: list[tuple[float, bool]]) -> None:
    assert Promises(tuple(made)).brier() == pytest.approx(
        np.mean([(p - right) ** 2 for p, right in made])
    )
