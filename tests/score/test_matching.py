"""pipeline/score/matching.py: one for one, the nearest first."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.models import Position, Side
from pipeline.score.matching import Matching, match, nearness, same_place, within
from pipeline.times import Interval
from tests.score.narration import flaw

SECONDS = st.lists(st.integers(min_value=0, max_value=60), max_size=8)


def apart(one: int, other: int) -> tuple[float, ...] | None:
    """Seconds between, none beyond ten."""
    return (abs(one - other),) if abs(one - other) <= 10 else None


def test_each_is_paired_once_with_the_nearest() -> None:
    assert match([10, 20], [19, 12, 40, 20], apart) == Matching(
        pairs=[(10, 12), (20, 20)], missed=[], wrong=[19, 40]
    )


@given(SECONDS, SECONDS)
def test_nothing_is_lost_or_used_twice(true: list[int], found: list[int]) -> None:
    matching = match(true, found, apart)
    assert sorted([one for one, _ in matching.pairs] + matching.missed) == sorted(true)
    assert sorted([other for _, other in matching.pairs] + matching.wrong) == sorted(found)
    assert not any(apart(one, other) for one in matching.missed for other in matching.wrong)


@given(SECONDS)
def test_things_match_themselves(true: list[int]) -> None:
    matching = match(true, true, apart)
    assert all(one == other for one, other in matching.pairs)
    assert (matching.missed, matching.wrong) == ([], [])


def test_time_decides_before_place_and_place_before_starts() -> None:
    left = flaw("mirror", "crack", "", side="left")
    right = flaw("mirror", "crack", "", side="right")
    early = Interval(start_s=0.0, end_s=4.0)
    late = Interval(start_s=9.0, end_s=11.0)
    within_early = Interval(start_s=2.0, end_s=3.0)
    assert nearness(left, early, right, early) < nearness(left, early, left, late)
    assert nearness(left, early, left, within_early) < nearness(left, early, right, early)
    assert nearness(left, early, left, early) < nearness(left, early, left, within_early)


@pytest.mark.parametrize(
    ("position", "side", "expected"),
    [
        ("front", "left", True),
        ("front", None, True),
        (None, "both", True),
        ("front", "both", True),
        ("rear", "left", False),
        ("front", "right", False),
    ],
)
def test_a_place_is_within_another_unless_they_contradict(
    position: Position | None, side: Side | None, expected: bool
) -> None:
    fender = flaw("fender", "chip", "", position="front", side="left")
    other = flaw("fender", "chip", "", position=position, side=side)
    assert within(fender, [other]) is expected
    assert within(other, [fender]) is expected
    assert not within(flaw("hood", "chip", ""), [other])


def test_the_same_place_is_equal_in_part_position_and_side() -> None:
    left = flaw("mirror", "crack", "", side="left")
    assert same_place(left, flaw("mirror", "scratch", "", side="left"))
    assert not same_place(left, flaw("mirror", "crack", ""))
    assert not same_place(left, flaw("mirror", "crack", "", side="left", position="upper"))
    assert not same_place(left, flaw("grip", "crack", "", side="left"))
