import doctest
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline import wording
from pipeline.models import CleanPart, Odometer, Vehicle
from tests.publish.conftest import finding


def test_examples_in_docstrings_hold() -> None:
    assert doctest.testmod(wording).failed == 0


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("a scratch", "a scratch"),
        ("  two\n lines\tand\u2028more\u00a0 ", "two lines and more"),
        ("\x1b[31mred\x1b[0m", "red"),
        ("\x1b]8;;https://bad.example\x07link\x1b]8;;\x07", "link"),
        ("\x1bcreset", "reset"),
        ("\u202etfel\u202c \u2066x\u2069 zero\u200bwidth", "tfel x zerowidth"),
        ("bell\x07 del\x7f nel\x85x", "bell del nel x"),
        ("half \ud800 pair", "half \ufffd pair"),
        ("café 日本 🏍", "café 日本 🏍"),
    ],
)
def test_plain_text_is_one_line_that_acts_on_nothing(text: str, shown: str) -> None:
    assert wording.plain(text) == shown


@given(st.text(st.characters(exclude_categories=())))
def test_plain_text_is_printable_encodable_and_stays_as_it_is(text: str) -> None:
    shown = wording.plain(text)
    assert shown.encode().decode() == shown
    assert "\x1b" not in shown
    assert "\n" not in shown
    assert wording.plain(shown) == shown


@pytest.mark.parametrize(
    ("place", "name"),
    [
        ({"part": "fuel_tank"}, "fuel tank"),
        ({"part": "turn_signal", "position": "front", "side": "left"}, "left front turn signal"),
        ({"part": "mirror", "side": "both"}, "both mirrors"),
        ({"part": "battery", "side": "both"}, "both batteries"),
        ({"part": "a_arm", "position": "lower", "side": "right"}, "right lower A-arm"),
        ({"part": "spokes", "position": "rear"}, "rear spokes"),
        ({"part": "other", "part_said": "little flag"}, "little flag"),
        ({"part": "other", "part_said": "bricks", "side": "both"}, "both bricks"),
        ({"part": "other"}, "unnamed part"),
        ({"part": "shop_made\x1b[1m"}, "shop made"),
    ],
)
def test_parts_are_named_as_an_ad_would(place: dict[str, str], name: str) -> None:
    assert wording.part_name(finding(**place)) == name


def test_a_clean_part_is_named_alike() -> None:
    clean = CleanPart(part="brake_rotor", position="front", start_s=0, end_s=1)
    assert wording.part_name(clean) == "front brake rotor"


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({}, "Scratch on the saddlebag"),
        ({"severity": 4}, "Scratch on the saddlebag"),
        ({"severity": 4, "severity_basis": "spoken"}, "Considerable scratch on the saddlebag"),
        ({"read_as": "some scratches"}, "Scratches on the saddlebag"),
        ({"count": 1}, "Scratch on the saddlebag"),
        ({"count": 2, "side": "left"}, "2 scratches on the left saddlebag"),
        ({"size_mm": 24.26}, "Scratch on the saddlebag, about 15/16 in"),
        (
            {"count": 3, "size_mm": 50.8, "detail": "lid"},
            "3 scratches on the saddlebag (lid), the largest about 2 in",
        ),
        ({"side": "both", "defect": "scuff"}, "Scuff on both saddlebags"),
        (
            {"defect": "rust", "area_pct": 30.0, "severity": 5, "severity_basis": "area"},
            "Rust on the saddlebag, over about 30% of it",
        ),
        (
            {"part": "brake_lever", "defect": "bent", "severity": 2, "severity_basis": "spoken"},
            "Brake lever is slightly bent",
        ),
        ({"part": "spokes", "defect": "missing", "count": 2}, "Spokes are missing, 2 of them"),
        ({"part": "mirror", "side": "both", "defect": "loose"}, "Both mirrors are loose"),
        ({"defect": "repaint", "severity": None}, "Saddlebag has been repainted"),
        ({"flags": ["speaker_unsure"]}, "Scratch on the saddlebag, the speaker was not sure"),
        ({"defect": "color_mismatch"}, "Color mismatch on the saddlebag"),
        ({"defect": "new_kind\u202e"}, "New kind on the saddlebag"),
    ],
)
def test_a_sentence_says_what_the_finding_says(fields: dict[str, object], sentence: str) -> None:
    assert wording.sentence(finding(**fields)) == sentence


def test_sizes_come_in_the_readers_units() -> None:
    assert wording.sentence(finding(size_mm=50.8), "mm") == "Scratch on the saddlebag, about 51 mm"


@pytest.mark.published
@pytest.mark.parametrize(
    ("size_mm", "inches"),
    [
        # Inch fractions in mm, exact by 1 in = 25.4 mm (yard and pound agreement, 1959).
        (1.5875, "1/16 in"),
        (6.35, "1/4 in"),
        (15.875, "5/8 in"),
        (22.225, "7/8 in"),
        (25.4, "1 in"),
        (38.1, "1 1/2 in"),
        (57.15, "2 1/4 in"),
        (127.0, "5 in"),
        (304.8, "12 in"),
        (914.4, "36 in"),
    ],
)
def test_inches_are_those_of_a_tape(size_mm: float, inches: str) -> None:
    assert wording.size_text(size_mm, "in") == inches


@pytest.mark.parametrize(
    ("size_mm", "inches", "millimetres"),
    [
        (0.2, "under 1/16 in", "under 1 mm"),
        (85.6, "3 3/8 in", "86 mm"),
        (210, "8 1/2 in", "210 mm"),
    ],
)
def test_other_sizes_are_rounded(size_mm: float, inches: str, millimetres: str) -> None:
    assert wording.size_text(size_mm, "in") == inches
    assert wording.size_text(size_mm, "mm") == millimetres


@pytest.mark.parametrize(
    ("grade", "word"), [(None, "not graded"), (0, "none"), (1, "very slight"), (5, "severe")]
)
def test_grades_have_words(grade: int | None, word: str) -> None:
    assert wording.grade_word(grade) == word


@pytest.mark.parametrize(
    ("vehicle", "title"),
    [
        (
            Vehicle(kind="motorcycle", year=2016, make="Fenwick", model="Marlin"),
            "2016 Fenwick Marlin",
        ),
        (Vehicle(kind="side_by_side", make="Fenwick"), "Fenwick"),
        (Vehicle(kind="watercraft"), "Used personal watercraft"),
    ],
)
def test_a_machine_is_called_what_was_said(vehicle: Vehicle, title: str) -> None:
    assert wording.vehicle_title(vehicle) == title


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [(12400, "mi", "12,400 mi"), (312.5, "h", "312.5 h"), (90, "km", "90 km")],
)
def test_odometer_readings_keep_their_unit(value: float, unit: str, text: str) -> None:
    assert wording.odometer_text(Odometer.model_validate({"value": value, "unit": unit})) == text


def test_unknown_ids_still_have_headings() -> None:
    assert wording.area_name("side_car") == "Side car"
    assert wording.group_name("other") == "Other flaws"
    assert wording.kind_name("side_by_side") == "side-by-side"


@pytest.mark.parametrize(
    ("part", "side", "position", "name"),
    [
        ("fuel_tank", "right", None, "right side of the fuel tank"),
        ("fuel_tank", None, "upper", "top of the fuel tank"),
        ("seat", "left", "rear", "rear of the seat, left side"),
        ("hull", None, None, "hull"),
        ("mirror", "right", None, "right mirror"),
    ],
)
def test_a_side_of_what_there_is_one_of_says_where_on_it(
    part: str, side: Any, position: Any, name: str
) -> None:
    place = CleanPart(part=part, side=side, position=position, start_s=0, end_s=1)
    assert wording.part_name(place) == name


def test_nothing_is_called_certain() -> None:
    assert [wording.sure(p) for p in (0.874, 0.998, 1.0)] == ["87%", "99%", "99%"]
