"""49 CFR part 565: values of Table III, weights of Table IV, worked examples as printed."""

import pytest

from pipeline.understand.tokens import pieces
from pipeline.understand.vin import check_digit, is_valid, letters_of, model_years


@pytest.mark.published
@pytest.mark.parametrize(
    ("vin", "digit"),
    [
        ("1M8GDM9AXKP042788", "X"),  # the widely printed worked example, sum 351
        ("1G4AH59H45G118341", "4"),  # the sample of CFR Table V
        ("1J9RP1A36A1644345", "6"),  # NHTSA's outline for new manufacturers
        ("11111111111111111", "1"),
    ],
)
def test_published_check_digits(vin: str, digit: str) -> None:
    assert check_digit(vin) == digit
    assert is_valid(vin)


@pytest.mark.parametrize(
    "vin",
    [
        "1M8GDM9AXKP042789", "1M8GDM9AXKP024788", "1M8GDM9A1KP042788", "1M8GDN9AXKP042788",
        "1M8GVM9AXKP042788", "IM8GDM9AXKP042788", "1M8GDM9AXKPO42788", "00000000000000000", "1M8", "",
    ],
)  # fmt: skip
def test_wrong_ones(vin: str) -> None:
    assert not is_valid(vin)


@pytest.mark.published
@pytest.mark.parametrize("vin", ["1M8GDM9AXKG042788", "1M8PDM9AXKP042788", "1M8GDM9JXKP042788"])
def test_the_check_digit_is_blind_within_a_value_class(vin: str) -> None:
    assert is_valid(vin)


@pytest.mark.published
@pytest.mark.parametrize(
    ("code", "years"),
    [
        ("A", (1980, 2010)),
        ("X", (1999, 2029)),
        ("Y", (2000, 2030)),
        ("9", (2009, 2039)),
        ("L", (1990, 2020)),
    ],
)
def test_model_years(code: str, years: tuple[int, int]) -> None:
    assert model_years(code) == years


@pytest.mark.parametrize("code", ["I", "O", "Q", "U", "Z", "0"])
def test_no_model_year(code: str) -> None:
    assert model_years(code) == ()


@pytest.mark.parametrize(
    ("said", "spelled"),
    [
        ("one M eight G D M nine A", "1M8GDM9A"),
        ("one mike eight golf delta mike niner alfa", "1M8GDM9A"),  # ICAO words
        ("one mary eight george david mary nine adam", "1M8GDM9A"),  # the police list
        ("B as in boy, four, four", "B44"),
        ("double seven triple oh", "77000"),
        ("forty-two seventeen", "4217"),
        ("B4471", "B4471"),
    ],
)
def test_spelling(said: str, spelled: str) -> None:
    tokens = [piece.lower() for piece in pieces(said)]
    assert "".join(letters_of(tokens, joined=spelled == "B4471")) == spelled
