"""Lengths said in a sentence, through the whole understanding, to millimetres."""

from fractions import Fraction

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.understand.reading import read_text

INCH_MM = 25.4

_ENDINGS = [
    "There's a scratch on the tank about {} long.",
    "The scratch on the tank is {} long.",
    "A scratch on the left saddlebag, {}.",
]
# Said form to inches.
INCHES = {
    "a sixteenth of an inch": Fraction(1, 16), "an eighth of an inch": Fraction(1, 8),
    "three sixteenths of an inch": Fraction(3, 16), "a quarter inch": Fraction(1, 4),
    "five sixteenths of an inch": Fraction(5, 16), "three eighths of an inch": Fraction(3, 8),
    "seven sixteenths of an inch": Fraction(7, 16), "half an inch": Fraction(1, 2),
    "nine sixteenths of an inch": Fraction(9, 16), "five eighths of an inch": Fraction(5, 8),
    "eleven sixteenths of an inch": Fraction(11, 16), "three quarters of an inch": Fraction(3, 4),
    "thirteen sixteenths of an inch": Fraction(13, 16), "seven eighths of an inch": Fraction(7, 8),
    "fifteen sixteenths of an inch": Fraction(15, 16), "an inch": Fraction(1),
    "a thirty second of an inch": Fraction(1, 32),
    "three thirty seconds of an inch": Fraction(3, 32),
    "an inch and a half": Fraction(3, 2), "one and a half inches": Fraction(3, 2),
    "two and a quarter inches": Fraction(9, 4), "one and one eighth inches": Fraction(9, 8),
    "two inches": Fraction(2), "three inches": Fraction(3), "ten inches": Fraction(10),
    "eighteen inches": Fraction(18), "2 1/4 inches": Fraction(9, 4), "1/16 inch": Fraction(1, 16),
    "2.25 inches": Fraction(9, 4), "one point five inches": Fraction(3, 2),
    "a foot": Fraction(12), "a foot and a half": Fraction(18), "two feet": Fraction(24),
    "a yard": Fraction(36), "three feet": Fraction(36), "ten thou": Fraction(1, 100),
    "twenty mils": Fraction(2, 100),
    "a sixty fourth of an inch": Fraction(1, 64), "two point two five inches": Fraction(9, 4),
    "zero point zero five inches": Fraction(5, 100), "three fourths of an inch": Fraction(3, 4),
    "two feet six inches": Fraction(30), "a foot and three inches": Fraction(15),
}  # fmt: skip

UNITS = pint.UnitRegistry()
# Longer ones, from 2.5 m, are no flaw's: "I rolled it ten feet".
LARGEST = {"inches": 98, "feet": 8, "yards": 2, "cm": 250}


def sizes(said: str) -> list[tuple[str, float | None]]:
    return [(s.defect, s.size_mm) for s in read_text(said, "motorcycle")]


@pytest.mark.published("NIST SP 811 App. B: the inch is 25.4 mm exactly, foot and yard follow")
@pytest.mark.parametrize("sentence", _ENDINGS)
@pytest.mark.parametrize(("said", "inches"), INCHES.items())
def test_inches_in_a_sentence(said: str, inches: Fraction, sentence: str) -> None:
    ((defect, size_mm),) = sizes(sentence.format(said))
    assert defect == "scratch"
    assert size_mm == pytest.approx(float(inches) * INCH_MM, abs=1e-4)


@pytest.mark.published("pint 0.25 (BSD): units of length by an independent library")
@settings(max_examples=60, deadline=None)
@given(st.integers(1, 999), st.sampled_from(["inches", "feet", "yards", "mils", "mm", "cm"]))
def test_units_of_another_library(many: int, unit: str) -> None:
    many = 1 + many % LARGEST.get(unit, 999)
    length = UNITS.Quantity(many, {"mils": "thou"}.get(unit, unit))
    ((_, size_mm),) = sizes(f"The scratch on the tank is {many} {unit} long.")
    assert size_mm == pytest.approx(length.to("mm").magnitude, rel=1e-6)


@pytest.mark.published("SI: metric lengths as they are")
@pytest.mark.parametrize(
    ("said", "mm"),
    [("thirty millimeters", 30), ("three centimeters", 30), ("5 mm", 5), ("1.5 centimetres", 15)],
)
def test_metric_lengths(said: str, mm: float) -> None:
    assert sizes(f"The scratch on the tank is {said} long.") == [("scratch", mm)]


# Diameter of coins; the longer side of a card.
THINGS = [
    ("penny", 19.05, "US Mint coin specifications"),
    ("nickel", 21.21, "US Mint coin specifications"),
    ("dime", 17.91, "US Mint coin specifications"),
    ("quarter", 24.26, "US Mint coin specifications"),
    ("half dollar", 30.61, "US Mint coin specifications"),
    ("dollar coin", 26.49, "US Mint coin specifications"),
    ("golf ball", 42.67, "Rules of Golf App. III, USGA 2016: 1.680 in at least"),
    ("credit card", 85.60, "ISO/IEC 7810 ID-1"),
    ("bank card", 85.60, "ISO/IEC 7810 ID-1"),
    ("driver's license", 85.60, "ISO/IEC 7810 ID-1"),
    ("A4 sheet", 297.0, "ISO 216"),
]


@pytest.mark.published("US Mint coin specifications; Rules of Golf App. III; ISO/IEC 7810; ISO 216")
@pytest.mark.parametrize("sentence", [
    "There's a dent in the tank about the size of a {}.",
    "There's a {} sized dent in the tank.",
    "There's a {}-sized dent in the tank.",
    "A dent in the tank, no bigger than a {}.",
    "A dent as big as a {} in the tank.",
])  # fmt: skip
@pytest.mark.parametrize(("thing", "mm"), [(thing, mm) for thing, mm, _ in THINGS])
def test_things_as_measures_in_a_sentence(thing: str, mm: float, sentence: str) -> None:
    said = sentence.format(thing).replace("a A4", "an A4")
    assert sizes(said) == [("dent", mm)]


@pytest.mark.published(
    "US Mint, Rules of Golf: dime < cent < nickel < quarter < dollar < half < golf ball"
)
def test_things_are_in_order() -> None:
    order = ["dime", "penny", "nickel", "quarter", "dollar coin", "half dollar", "golf ball"]
    found = [sizes(f"A dent in the tank the size of a {thing}.")[0][1] or 0.0 for thing in order]
    assert found == sorted(set(found))


@pytest.mark.published("a quarter inch is 6.35 mm, a quarter's size 24.26 mm (US Mint)")
@pytest.mark.parametrize(
    ("said", "mm"),
    [("a quarter-inch dent", 6.35), ("a quarter-sized dent", 24.26), ("a half-inch dent", 12.7),
     ("a half-dollar-sized dent", 30.61)],
)  # fmt: skip
def test_a_quarter_is_a_coin_or_a_fraction(said: str, mm: float) -> None:
    assert sizes(f"There's {said} in the tank.") == [("dent", mm)]
