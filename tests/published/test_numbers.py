"""Spoken numbers made by num2words, an independent library, and read back by ours."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words  # type: ignore[import-untyped]

from pipeline.understand.amounts import number
from pipeline.understand.header import read_header
from pipeline.wording import size_text

DENOMINATORS = {2: "half", 3: "third", 4: "quarter", 5: "fifth", 8: "eighth", 10: "tenth",
                16: "sixteenth", 32: "thirty second"}  # fmt: skip
PLURALS = {2: "halves", 32: "thirty seconds"}
OTHER_DENOMINATORS = {6: "sixth", 7: "seventh", 9: "ninth", 64: "sixty fourth"}


def words_of(value: object, to: str = "cardinal") -> str:
    return str(num2words(value, to=to)).replace("-", " ").replace(",", "")


@pytest.mark.published("num2words (LGPL): every whole number below 3,000, with and without 'and'")
def test_small_whole_numbers() -> None:
    for value in range(3000):
        assert number(words_of(value)) == value
        assert number(words_of(value).replace(" and ", " ")) == value


@pytest.mark.published("num2words (LGPL): whole numbers below a million")
@given(st.integers(0, 999_999))
def test_whole_numbers(value: int) -> None:
    assert number(words_of(value)) == value
    assert number(f"{value:,}") == value


@pytest.mark.published("num2words (LGPL): years 1950 to 2039, as years and as numbers are said")
def test_years() -> None:
    for year in range(1950, 2040):
        assert told_year(words_of(year, "year")) == year
        if year >= 2000:
            assert told_year(words_of(year)) == year


def told_year(said: str) -> int | None:
    return read_header(["a", *said.split(), "Corvane", "Rider"], "motorcycle").year


@pytest.mark.published("num2words (LGPL): decimals with one digit after the point")
@given(st.integers(0, 999))
def test_decimals_of_one_digit(tenths: int) -> None:
    assert number(words_of(f"{tenths // 10}.{tenths % 10}")) == pytest.approx(tenths / 10)


@pytest.mark.published("num2words (LGPL): decimals with two digits after the point")
@given(st.integers(0, 9), st.integers(1, 99).filter(lambda hundredths: hundredths % 10))
def test_decimals_of_two_digits(whole: int, hundredths: int) -> None:
    assert number(words_of(f"{whole}.{hundredths:02}")) == pytest.approx(whole + hundredths / 100)


@pytest.mark.published("num2words (LGPL): fractions and mixed numbers of a tape measure")
@given(st.integers(0, 40), st.sampled_from(sorted(DENOMINATORS)), st.integers(1, 19))
def test_fractions(whole: int, of: int, many: int) -> None:
    many = (many - 1) % (of - 1) + 1
    name = DENOMINATORS[of] if many == 1 else PLURALS.get(of, f"{DENOMINATORS[of]}s")
    said = f"{words_of(many)} {name}"
    if whole:
        said = f"{words_of(whole)} and {said}"
    assert number(said) == pytest.approx(float(whole + Fraction(many, of)))


@pytest.mark.published("num2words (LGPL): mixed numbers with more than twenty thirty-seconds")
@pytest.mark.parametrize("many", [21, 23, 25, 27, 29, 31])
def test_many_thirty_seconds(many: int) -> None:
    assert number(f"one and {words_of(many)} thirty seconds") == pytest.approx(1 + many / 32)


@pytest.mark.published("num2words (LGPL): ordinals as denominators that a tape or a lathe has")
@pytest.mark.parametrize(("of", "name"), OTHER_DENOMINATORS.items())
def test_other_fractions(of: int, name: str) -> None:
    assert name == words_of(of, "ordinal")
    assert number(f"one {name}") == pytest.approx(1 / of)


@pytest.mark.published("num2words (LGPL): an ordinal is no number")
@pytest.mark.parametrize("value", [
    1, 2, 12, 20, 21, 23, 24, 25, 28, 30, 33, 42, 43,
])  # fmt: skip
def test_ordinals(value: int) -> None:
    assert number(words_of(value, "ordinal")) is None


@pytest.mark.published("tape measure: what `wording` writes of a length is what `number` reads")
@given(st.integers(1, 23 * 16))
def test_written_inches_are_read_back(sixteenths: int) -> None:
    inches = Fraction(sixteenths, 16)
    said = size_text(float(inches) * 25.4, "in").removesuffix(" in")
    step = Fraction(1, 16 if inches < 1 else 8 if inches < 6 else 2)
    assert abs((number(said) or 0.0) - float(inches)) <= float(step) / 2 + 1e-9
