"""pipeline/score/measures.py: counts add up, and ratios are those of their definitions."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.score.measures import Bin, Promises, Share, Spread, Tally

COUNTS = st.integers(min_value=0, max_value=1000)
TALLIES = st.builds(Tally, COUNTS, COUNTS, COUNTS)
PROMISES = st.builds(
    Promises, st.lists(st.tuples(st.floats(0, 1), st.booleans()), max_size=40).map(tuple)
)


def promised(*rows: tuple[float, int, int]) -> Promises:
    """Rows of (confidence, right, total)."""
    return Promises(tuple((sure, i < right) for sure, right, total in rows for i in range(total)))


@pytest.mark.parametrize(
    ("tally", "precision", "recall", "f1"),
    [
        (Tally(8, 2, 8), 0.8, 0.5, 8 / 13),
        (Tally(3, 0, 0), 1.0, 1.0, 1.0),
        (Tally(0, 0, 4), None, 0.0, 0.0),
        (Tally(0, 4, 0), 0.0, None, 0.0),
        (Tally(), None, None, None),
    ],
)
def test_precision_recall_and_their_harmonic_mean(
    tally: Tally, precision: float | None, recall: float | None, f1: float | None
) -> None:
    assert tally.precision == precision
    assert tally.recall == recall
    assert tally.f1 == pytest.approx(f1)


@given(TALLIES, TALLIES, TALLIES)
def test_tallies_add_in_any_order(one: Tally, two: Tally, three: Tally) -> None:
    assert (one + two) + three == one + (two + three)
    assert one + two == two + one
    assert one + Tally() == one


@given(TALLIES)
def test_f1_stays_between_precision_and_recall(tally: Tally) -> None:
    if None not in (tally.precision, tally.recall):
        low, high = sorted((tally.precision or 0.0, tally.recall or 0.0))
        assert low - 1e-9 <= (tally.f1 or 0.0) <= high + 1e-9


def test_a_share_of_nothing_is_no_number() -> None:
    assert Share().ratio is None
    assert (Share(1, 2) + Share(0, 2)).ratio == 0.25


def test_quantiles_are_those_of_all_values_together() -> None:
    spread = Spread((0.0, 4.0)) + Spread((1.0, 2.0, 3.0))
    assert spread.quantile(0.5) == 2.0
    assert spread.quantile(0.95) == pytest.approx(3.8)
    assert Spread().quantile(0.5) is None


# --- calibration --------------------------------------------------------------------------------


@pytest.mark.published
@pytest.mark.parametrize(
    ("promises", "bins", "ece", "mce", "brier"),
    [
        (promised((0.95, 3, 4), (0.75, 3, 4), (0.55, 1, 2)), 10, 0.09, 0.20, 0.2165),
        (promised((0.9, 9, 10)), 10, 0.0, 0.0, 0.09),
        (promised((0.9, 5, 10)), 10, 0.40, 0.40, 0.41),
        (promised((0.3, 1, 5), (0.8, 4, 5)), 10, 0.05, 0.10, 0.165),
        (promised((0.3, 1, 5), (0.8, 4, 5)), 1, 0.05, 0.05, 0.165),
    ],
)
def test_calibration_follows_its_published_definitions(
    promises: Promises, bins: int, ece: float, mce: float, brier: float
) -> None:
    """ECE and MCE by Guo, Pleiss, Sun and Weinberger (ICML 2017), eq. 3 and 5, worked by hand."""
    assert promises.ece(bins) == pytest.approx(ece, abs=1e-9)
    assert promises.mce(bins) == pytest.approx(mce, abs=1e-9)
    assert promises.brier() == pytest.approx(brier, abs=1e-9)


@pytest.mark.published
def test_brier_score_of_the_documented_example() -> None:
    """The example of scikit-learn's `brier_score_loss`: y 0 1 1 0, p 0.1 0.9 0.8 0.3."""
    made = ((0.1, False), (0.9, True), (0.8, True), (0.3, False))
    assert Promises(made).brier() == pytest.approx(0.0375, abs=1e-9)


def test_bins_are_open_below_and_closed_above() -> None:
    sides = Promises(((0.7, True), (0.70001, False), (0.0, False), (1.0, True)))
    assert sides.curve(10) == [
        Bin(0.0, 0.0, 1),
        Bin(0.7, 1.0, 1),
        Bin(0.70001, 0.0, 1),
        Bin(1.0, 1.0, 1),
    ]


def test_nothing_promised_is_no_number() -> None:
    assert Promises().ece() is None
    assert Promises().mce() is None
    assert Promises().brier() is None


@given(PROMISES, PROMISES)
def test_errors_of_calibration_stay_in_their_bounds(one: Promises, two: Promises) -> None:
    both = one + two
    assert sum(point.count for point in both.curve()) == len(both.made)
    assert all(a.confidence < b.confidence for a, b in pairwise(both.curve()))
    if both.made:
        ece, mce, brier = both.ece() or 0.0, both.mce() or 0.0, both.brier() or 0.0
        assert 0 <= ece <= mce + 1e-9 <= 1 + 2e-9
        assert 0 <= brier <= 1
        assert both.ece(1) == pytest.approx((two + one).ece(1))
