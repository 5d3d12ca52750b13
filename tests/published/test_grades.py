"""Grades of rust and flaking by a spoken area, at every published limit and beside it."""

import math
from itertools import pairwise

import pytest

from pipeline.understand.grading import area_grade
from pipeline.understand.reading import read_text

# Percent of area in the pictures for ratings 1 to 5.
RUST_PCT = [0.05, 0.5, 1.0, 8.0, 40.0]  # ISO 4628-3:2016, Ri 1 to Ri 5 (Ri 5: 40 to 50)
FLAKING_PCT = [0.1, 0.3, 1.0, 3.0, 15.0]  # ISO 4628-5 (from memory)
_BESIDE = 1e-6  # of the limit


def limits(pictures: list[float]) -> list[tuple[float, int, int]]:
    """(Area where the nearer picture on a log scale changes, grade below, grade above)."""
    return [
        (math.exp((math.log(low) + math.log(high)) / 2), grade, grade + 1)
        for grade, (low, high) in enumerate(pairwise(pictures), start=1)
    ]


@pytest.mark.published(
    "ISO 4628-3:2016 (rust), ISO 4628-5 (flaking, from memory): the pictures' areas"
)
@pytest.mark.parametrize(("defect", "pictures"), [("rust", RUST_PCT), ("flaking", FLAKING_PCT)])
def test_each_picture_has_its_grade(defect: str, pictures: list[float]) -> None:
    assert [area_grade(defect, pct) for pct in pictures] == [1, 2, 3, 4, 5]
    assert area_grade(defect, 0) == 0
    assert area_grade(defect, 100) == 5


@pytest.mark.published("ISO 4628-3 and -5; nearest on a log scale is our own choice")
@pytest.mark.parametrize(
    ("defect", "limit", "below", "above"),
    [
        *(("rust", *row) for row in limits(RUST_PCT)),
        *(("flaking", *row) for row in limits(FLAKING_PCT)),
    ],
)
def test_both_sides_of_each_limit(defect: str, limit: float, below: int, above: int) -> None:
    assert area_grade(defect, limit * (1 - _BESIDE)) == below
    assert area_grade(defect, limit * (1 + _BESIDE)) == above


@pytest.mark.published("ISO 4628-3 by ASTM D610-08 Table 1: more rust is never a better grade")
def test_order_of_d610_areas() -> None:
    upper_limits = [0.01, 0.03, 0.1, 0.3, 1, 3, 10, 16, 33, 50, 100]  # D610 grades 10 down to 0
    grades = [area_grade("rust", pct) or 0 for pct in upper_limits]
    assert grades == sorted(grades)
    # The correlation ISO 4628-3 gives: Ri 1 is D610 8, Ri 2 and 3 are 6, Ri 4 is 4, Ri 5 is 1.
    assert [area_grade("rust", pct) for pct in (0.05, 0.5, 1, 8, 40)] == [1, 2, 3, 4, 5]


# ISO 10289:1999: upper limit of the area in percent, rating; from 1.0 on down from memory.
ISO_10289 = [
    (0.1, 9), (0.25, 8), (0.5, 7), (1.0, 6), (2.5, 5), (5.0, 4), (10.0, 3), (25.0, 2), (50.0, 1),
]  # fmt: skip


@pytest.mark.published("ISO 10289:1999: rating 3 (2 - log10 A) at each upper limit of its table")
@pytest.mark.parametrize(("limit", "rating"), ISO_10289)
def test_a_worse_iso_10289_rating_is_never_a_better_grade(limit: float, rating: int) -> None:
    assert round(3 * (2 - math.log10(limit))) == rating
    below, at, above = (area_grade("rust", limit * f) for f in (1 - _BESIDE, 1, 1 + _BESIDE))
    assert below is not None
    assert at is not None
    assert above is not None
    assert below <= at <= above


@pytest.mark.published("ISO 4628-3:2016 and ISO 4628-5, from a spoken percentage to the grade")
@pytest.mark.parametrize(
    ("said", "defect", "grade"),
    [
        ("Rust over eight percent of the frame.", "rust", 4),
        ("Rust on one percent of the frame.", "rust", 3),
        ("Rust on point five percent of the frame.", "rust", 2),
        ("Rust on 0.05 percent of the frame.", "rust", 1),
        ("Rust on forty percent of the frame.", "rust", 5),
        ("Rust on half of the frame.", "rust", 5),
        ("Rust on 17.8% of the frame.", "rust", 4),
        ("Rust on 17.9% of the frame.", "rust", 5),
        ("The paint is flaking on three percent of the tank.", "flaking", 4),
        ("The paint is flaking on fifteen percent of the tank.", "flaking", 5),
        ("The paint is flaking on one percent of the tank.", "flaking", 3),
        ("The paint is flaking on 0.3 percent of the tank.", "flaking", 2),
        ("Rust on zero point zero five percent of the frame.", "rust", 1),
    ],
)  # fmt: skip
def test_spoken_percentages(said: str, defect: str, grade: int) -> None:
    ((found, severity, basis),) = [
        (s.defect, s.severity, s.severity_basis) for s in read_text(said, "motorcycle")
    ]
    assert (found, severity, basis) == (defect, grade, "area")
