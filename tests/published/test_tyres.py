"""Tyre date codes, 49 CFR 574.5: read as week and year, and taken for nothing else."""

from datetime import date

import pytest

from pipeline.models import TireDate
from pipeline.understand.header import read_header
from pipeline.understand.reading import read_text
from pipeline.understand.tires import age_years, read_code, tire_dates
from pipeline.understand.tokens import pieces

SAID = {
    "The date code on the rear tire is thirty-two nineteen.": [("3219", 32, 2019, "rear")],
    "Rear tire, date code oh three oh one.": [("0301", 3, 2001, "rear")],
    "Front tire date code is 3219.": [("3219", 32, 2019, "front")],
    "Date code twenty-five oh one on the front tire.": [("2501", 25, 2001, "front")],
    "The tires are dated 0712.": [("0712", 7, 2012, None)],
    "Date code twenty-three nineteen.": [("2319", 23, 2019, None)],
    "DOT 3219 on both.": [("3219", 32, 2019, None)],
    "The date code's thirty-five hundred.": [("3500", 35, 2000, None)],
    "Date code three nineteen on the rear.": [("0319", 3, 2019, "rear")],
    "Date code thirty-two nineteen front, twenty twenty on the rear.": [
        ("3219", 32, 2019, "front"), ("2020", 20, 2020, "rear"),
    ],
}  # fmt: skip
OTHER_TALK = [
    "The title is dated the third of May.",
    "A dot of paint on the tank.",
    "The front tire has four plugs.",
    "Stock number 3219.",
]


@pytest.mark.published("49 CFR 574.5(b): four digits, week then year, as they are spoken")
@pytest.mark.parametrize(("said", "codes"), SAID.items())
def test_spoken_codes(said: str, codes: list[tuple[object, ...]]) -> None:
    told = tire_dates([piece.lower() for piece in pieces(said)])
    assert [(t.code, t.week, t.year, t.position) for t in told] == codes


@pytest.mark.parametrize("said", OTHER_TALK)
def test_other_talk_has_no_code(said: str) -> None:
    assert tire_dates([piece.lower() for piece in pieces(said)]) == []


@pytest.mark.published("64 FR 36807 (8 July 1999) and 49 CFR 574.5: codes with their reading")
@pytest.mark.parametrize(
    ("code", "week", "year"),
    [
        ("0301", 3, 2001), ("3500", 35, 2000), ("2501", 25, 2001), ("0712", 7, 2012),
        ("0100", 1, 2000), ("5300", 53, 2000),
        ("439", 43, None), ("317", 31, None),  # before 2000: the decade is not told
        ("5425", None, None), ("0019", None, None),  # no such week
    ],
)  # fmt: skip
def test_codes(code: str, week: int | None, year: int | None) -> None:
    read = read_code(code)
    assert (read.week, read.year) == (week, year)


@pytest.mark.published(
    "49 CFR 574.5: weeks from Sunday; the first full one is week 1 (from memory)"
)
@pytest.mark.parametrize(
    ("code", "on", "days"),
    [
        ("0123", date(2023, 1, 1), 0),  # 1 January 2023 was a Sunday
        ("0124", date(2024, 1, 6), None),  # week 1 of 2024 began on Sunday the 7th
        ("0124", date(2024, 1, 7), 0),
        ("3219", date(2026, 5, 1), 2455),  # from 11 August 2019
        ("3197", date(2026, 5, 1), None),  # four digits are of 2000 or later, never of 1997
        ("439", date(2026, 5, 1), None),
    ],
)
def test_age_on_a_day(code: str, on: date, days: int | None) -> None:
    age = age_years(read_code(code), on)
    assert age == (None if days is None else pytest.approx(days / 365.2425))


@pytest.mark.published("49 CFR 574.5(b): four digits, week then year; here: no flaw, count or size")
@pytest.mark.parametrize("said", SAID)
def test_a_date_code_states_no_flaw(said: str) -> None:
    assert read_text(said, "motorcycle") == []


@pytest.mark.published("49 CFR 574.5(b): a tyre's week and year are not the machine's model year")
@pytest.mark.parametrize("said", [*SAID, "The rear tire is a twenty nineteen."])
def test_a_date_code_is_no_model_year(said: str) -> None:
    vehicle = read_header(pieces(said), "motorcycle")
    assert (vehicle.year, vehicle.odometer, vehicle.stock_number) == (None, None, None)


def test_the_header_has_the_codes() -> None:
    vehicle = read_header(pieces("A 2014 Corvane Meridian. Rear tire is dated 2219."), "motorcycle")
    assert vehicle.year == 2014
    assert vehicle.tires == [TireDate(code="2219", week=22, year=2019, position="rear")]
