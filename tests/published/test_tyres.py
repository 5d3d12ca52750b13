"""Tyre date codes, 49 CFR 574.5: not read yet, so they must be taken for nothing else."""

import pytest

from pipeline.understand.header import read_header
from pipeline.understand.reading import read_text
from pipeline.understand.tokens import pieces

SAID = [
    "The date code on the rear tire is thirty-two nineteen.",
    "Rear tire, date code oh three oh one.",
    "Front tire date code is 3219.",
    "Date code twenty-five oh one on the front tire.",
    "The tires are dated 0712.",
]


@pytest.mark.published("49 CFR 574.5(b): four digits, week then year; here: no flaw, count or size")
@pytest.mark.parametrize("said", SAID)
def test_a_date_code_states_no_flaw(said: str) -> None:
    assert read_text(said, "motorcycle") == []


@pytest.mark.published("49 CFR 574.5(b): a tyre's week and year are not the machine's model year")
@pytest.mark.parametrize("said", [
    *SAID,
    pytest.param("Date code thirty-two nineteen front, twenty twenty on the rear.",
                 marks=pytest.mark.xfail(strict=True, reason="taken for the model year 2020")),
    pytest.param("The rear tire is a twenty nineteen.",
                 marks=pytest.mark.xfail(strict=True, reason="taken for the model year 2019")),
])  # fmt: skip
def test_a_date_code_is_no_model_year(said: str) -> None:
    vehicle = read_header(pieces(said), "motorcycle")
    assert (vehicle.year, vehicle.odometer, vehicle.stock_number) == (None, None, None)
