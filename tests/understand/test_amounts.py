"""Lengths and things used as measures are published values; see each table's source."""

import pytest

from lexicon.load import load_lexicon
from pipeline.understand.amounts import find_areas, find_counts, find_sizes, number
from pipeline.understand.tokens import pieces

SIZES_MM = load_lexicon("motorcycle").sizes_mm


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("three", 3), ("twenty three", 23), ("one hundred and twenty", 120), ("12,430", 12430),
        ("twelve hundred and six", 1206), ("half", 0.5), ("a quarter", 0.25), ("three quarters", 0.75),
        ("two and a half", 2.5), ("one and three quarters", 1.75), ("1/16", 0.0625), ("1 1/2", 1.5),
        ("five eighths", 0.625), ("two point five", 2.5), ("a couple of", 2), ("a", 1),
    ],
)  # fmt: skip
def test_numbers(said: str, value: float) -> None:
    assert number(said) == pytest.approx(value)


@pytest.mark.parametrize("said", ["seat", "", "and", "of the"])
def test_no_number(said: str) -> None:
    assert number(said) is None


# The inch is 25.4 mm exactly (NIST SP 811 App. B; yard and pound agreement of 1 July 1959).
@pytest.mark.published
@pytest.mark.parametrize(
    ("said", "mm"),
    [
        ("an inch", 25.4), ("an inch and a half", 38.1), ("two and a quarter inch", 57.15),
        ("three quarter inch", 19.05), ("three quarters of an inch", 19.05), ("quarter inch", 6.35),
        ("half inch", 12.7), ("half an inch", 12.7), ("two-inch", 50.8), ("a sixteenth of an inch", 1.5875),
        ("1/16 inch", 1.5875), ("one thirty second of an inch", 0.79375), ("six inches", 152.4),
        ("a foot", 304.8), ("two feet", 609.6), ("a yard", 914.4), ("thirty millimeters", 30),
        ("three centimeters", 30), ("2.5 inches", 63.5), ("ten thou", 0.254),
    ],
)  # fmt: skip
def test_lengths(said: str, mm: float) -> None:
    (found,) = find_sizes(pieces(said), SIZES_MM)
    assert found.value == pytest.approx(mm, abs=1e-4)


@pytest.mark.parametrize(
    ("said", "mm"),
    [
        ("two or three inches", 76.2),  # of a range the larger end
        ("two to three inches long", 76.2),
        ("the longer one sixty millimeters", 60),
        ("maybe four inches or so", 101.6),
    ],
)
def test_ranges(said: str, mm: float) -> None:
    assert [found.value for found in find_sizes(pieces(said), SIZES_MM)] == pytest.approx([mm])


# Diameters: US Mint coin specifications; golf ball: Rules of Golf App. III (at least 1.680 in);
# card: ISO/IEC 7810 ID-1, its longer side.
@pytest.mark.published
@pytest.mark.parametrize(
    ("said", "mm"),
    [
        ("size of a dime", 17.91), ("dime sized", 17.91), ("about the size of a penny", 19.05),
        ("quarter-sized", 24.26), ("no bigger than a nickel", 21.21), ("half dollar sized", 30.61),
        ("as big as a golf ball", 42.67), ("the size of a credit card", 85.6),
    ],
)  # fmt: skip
def test_things_as_measures(said: str, mm: float) -> None:
    assert [found.value for found in find_sizes(pieces(said), SIZES_MM)] == pytest.approx([mm])


@pytest.mark.parametrize(
    "said", ["in the tank", "a quarter", "five miles", "two scratches", "inside"]
)
def test_no_length(said: str) -> None:
    assert find_sizes(pieces(said), SIZES_MM) == []


@pytest.mark.parametrize(
    ("said", "percent"),
    [
        ("about ten percent of", 10), ("half of the seat", 50), ("a quarter of it", 25),
        ("ten to fifteen percent", 15), ("two thirds of the", 200 / 3), ("5 % of the surface", 5),
    ],
)  # fmt: skip
def test_areas(said: str, percent: float) -> None:
    assert [found.value for found in find_areas(pieces(said))] == pytest.approx([percent], abs=0.05)


@pytest.mark.parametrize(
    ("said", "count"), [("three", 3), ("two or three", 3), ("a couple of", 2), ("12", 12)]
)
def test_counts(said: str, count: int) -> None:
    assert [found.value for found in find_counts(pieces(said))] == [count]
