import pytest

from pipeline.models import Odometer, Vehicle
from pipeline.understand.header import read_header
from pipeline.understand.model_name import spoken_year
from pipeline.understand.tokens import pieces


def header(text: str) -> Vehicle:
    return read_header(pieces(text), "motorcycle")


@pytest.mark.parametrize(
    ("said", "year"),
    [
        ("twenty fourteen", 2014), ("twenty twenty-one", 2021), ("nineteen seventy-two", 1972),
        ("two thousand nine", 2009), ("two thousand and eight", 2008), ("twenty oh seven", 2007),
        ("2014", 2014), ("two thousand", 2000),
    ],
)  # fmt: skip
def test_years(said: str, year: int) -> None:
    found = spoken_year([piece.lower() for piece in pieces(said)])
    assert found is not None
    assert found[0] == year


@pytest.mark.parametrize("said", ["twenty dollars", "nineteen", "two scratches", "the tank"])
def test_no_year(said: str) -> None:
    assert spoken_year([piece.lower() for piece in pieces(said)]) is None


@pytest.mark.parametrize(
    "said",
    [
        "This is a twenty fourteen Corvane Meridian, stock number B four four seven one.",
        "Here's the Corvane Meridian, twenty fourteen, and stock number is, let me look, B 4 4 7 1.",
        "This is a 2014 Corvane Meridian stock number B4471.",
    ],
)
def test_year_make_model_stock(said: str) -> None:
    vehicle = header(said)
    assert (vehicle.year, vehicle.make, vehicle.model) == (2014, "Corvane", "Meridian")
    assert vehicle.stock_number == "B4471"


@pytest.mark.parametrize(
    ("said", "odometer"),
    [
        ("It shows twelve thousand four hundred thirty miles.", Odometer(value=12430, unit="mi")),
        ("Twenty-two thousand six hundred kilometers on it.", Odometer(value=22600, unit="km")),
        ("It has 3,150 miles.", Odometer(value=3150, unit="mi")),
        ("My buddy put forty thousand miles on his.", None),
    ],
)
def test_odometer(said: str, odometer: Odometer | None) -> None:
    assert header(said).odometer == odometer


def test_hours() -> None:
    assert header("It's got ninety-four and a half hours on the meter.").hours == 94.5


def test_a_good_vin_and_a_bad_one() -> None:
    good = header("The VIN is one M eight G D M nine A X K P zero four two seven eight eight.")
    assert (good.vin, good.vin_valid, good.flags) == ("1M8GDM9AXKP042788", True, [])
    bad = header("The VIN is one M eight G D M nine A X K P zero four two seven eight nine.")
    assert (bad.vin, bad.vin_valid) == ("1M8GDM9AXKP042789", False)
    assert bad.flags == ["vin_check_digit"]


@pytest.mark.parametrize(
    ("written", "miles"),
    [
        ("She's showing 12,430 400 and 30. miles on the clock.", 12430),  # said once, written twice
        ("Stock number 1186, 28,000 28,950 miles.", 28950),
        ("It has 5200 and 6 miles.", 5206),
        ("It has 41,600, and 8 miles.", 41608),
        ("It has 33,000 and 19 miles.", 33019),
        ("Stock number 4471. Miles on it are not known.", None),
    ],
)
def test_numbers_that_recognisers_write_in_pieces(written: str, miles: int | None) -> None:
    found = header(written).odometer
    assert (found and found.value) == miles


@pytest.mark.parametrize(
    ("said", "code"),
    [
        ("Stock number DS44, 6,300 miles.", "DS44"),
        ("Stock number is RR17. First the seat.", "RR17"),
        ("Stock number ADV66.", "ADV66"),
        ("Stock number double 416.", "4416"),
    ],
)
def test_stock_numbers_of_letters_and_digits(said: str, code: str) -> None:
    assert header(said).stock_number == code


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (
            "Stock number B, four, one, seven, and it's got eleven thousand, four hundred miles.",
            "B417",
        ),
        ("Stock number B, four, one, seven, clock shows nine thousand miles.", "B417"),
        ("Stock number W, nine, oh, five, one owner.", "W905"),
    ],
)
def test_a_code_read_out_with_pauses_ends_where_something_else_is_told(
    text: str, code: str
) -> None:
    assert header(text).stock_number == code
