"""Parts that stand on one side of a motorcycle, as published; left and right are the rider's."""

import pytest

from pipeline.models import Kind
from pipeline.understand.reading import read_text


def place(said: str, kind: Kind = "motorcycle") -> tuple[str | None, str | None]:
    (statement,) = read_text(said, kind)
    return statement.place.side, statement.place.side_basis


@pytest.mark.published(
    "49 CFR 571.123 Table 1: rear brake (as in NHTSA letter nht92-9.36); the rest from memory"
)
@pytest.mark.parametrize(
    ("said", "side"),
    [
        ("The brake pedal is bent.", "right"),
        ("The rear brake pedal is bent.", "right"),
        ("The front brake lever is bent.", "right"),
        ("The clutch lever is bent.", "left"),
        ("The shift lever is bent.", "left"),
        ("The throttle is loose.", "right"),
    ],
)  # fmt: skip
def test_controls_on_one_side(said: str, side: str) -> None:
    assert place(said) == (side, "inferred")


@pytest.mark.published("common practice: the side stand is on the left of nearly all road machines")
def test_kickstand() -> None:
    assert place("The kickstand is rusty.") == ("left", "inferred")


@pytest.mark.published("70 FR 51286: a scooter's rear brake may be a lever on the left")
def test_a_rear_brake_lever_has_no_side_of_its_own() -> None:
    assert place("The rear brake lever is bent.") == (None, None)


@pytest.mark.published("common practice: varies by model, or on both sides (571.123 S5.2.5)")
@pytest.mark.parametrize("part", ["drive chain", "exhaust", "brake rotor", "passenger footpeg"])
def test_no_side_where_none_is_published(part: str) -> None:
    assert place(f"The {part} is scratched.") == (None, None)


@pytest.mark.published("British machines before 1975 shift on the right: a spoken side wins")
def test_a_spoken_side_wins_and_is_looked_at() -> None:
    (statement,) = read_text("The right shift lever is bent.", "motorcycle")
    assert (statement.place.side, statement.place.side_basis) == ("right", "spoken")
    assert "side_contradiction" in statement.notes


@pytest.mark.published("49 CFR 571.123 is for motorcycles: other kinds infer no side from it")
@pytest.mark.parametrize("kind", ["side_by_side", "snowmobile", "watercraft"])
def test_other_kinds(kind: Kind) -> None:
    assert place("The throttle is loose.", kind) == (None, None)
