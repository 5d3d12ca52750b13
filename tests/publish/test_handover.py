from collections.abc import Callable
from datetime import datetime
from typing import Any

import pytest

from pipeline.models import CleanPart, Line, Record, TireDate
from pipeline.publish.handover import Handover, line_status, line_text, with_lines_seen
from pipeline.times import Interval
from tests.publish.conftest import finding

HandoverOf = Callable[..., Handover]


def told(handover: Handover) -> list[str]:
    return [flaw.finding.id for flaw in handover.flaws]


def test_only_what_was_settled_is_told(record: Record, handover_of: HandoverOf) -> None:
    handover = handover_of(record)
    assert told(handover) == ["F001", "F002", "F003", "F004", "F005", "F008"]
    assert handover.withheld == 1
    assert "1 further finding is left out here until reviewed." in handover.open_points()


def test_unreviewed_findings_are_told_as_such_if_asked_for(
    record: Record, handover_of: HandoverOf
) -> None:
    handover = handover_of(record, include_unconfirmed=True)
    assert "F006" in told(handover)
    assert "F007" not in told(handover)
    assert [f.sentence for f in handover.flaws if not f.confirmed] == [
        "Unconfirmed: Leak on the left fork"
    ]
    assert handover.withheld == 0
    assert '1 finding marked "Unconfirmed" is not reviewed.' in handover.open_points()


def test_areas_stand_worst_first_and_repairs_apart(record: Record, handover_of: HandoverOf) -> None:
    handover = handover_of(record)
    assert [f.finding.id for _, flaws in handover.by_area() for f in flaws] == [
        "F004",
        "F001",
        "F008",
        "F002",
        "F003",
    ]
    assert [f.finding.id for f in handover.repairs()] == ["F005"]


def test_the_flaws_of_an_area_stay_together(record: Record, handover_of: HandoverOf) -> None:
    record.findings = [
        finding(id="A", part="mirror", severity=2),
        finding(id="B", part="seat", severity=3),
        finding(id="C", part="windshield", severity=5),
        finding(id="D", part="mirror", side="left", severity=None),
    ]
    areas = handover_of(record).by_area()
    assert [[f.finding.id for f in flaws] for _, flaws in areas] == [["C", "A", "D"], ["B"]]


@pytest.mark.parametrize(
    ("clean", "flaw", "expected"),
    [
        ({}, {}, ("saddlebag", True)),
        ({"side": "left"}, {"side": "right"}, ("left saddlebag", False)),
        ({"side": "left"}, {"side": "both"}, ("left saddlebag", True)),
        ({"side": "left"}, {}, ("left saddlebag", True)),
        ({"position": "front"}, {"position": "rear"}, ("front saddlebag", False)),
        ({}, {"part": "seat"}, ("saddlebag", False)),
        ({}, {"status": "struck"}, ("saddlebag", False)),
        ({}, {"status": "flagged"}, None),
        ({"side": "left"}, {"status": "flagged", "side": "right"}, ("left saddlebag", False)),
    ],
)
def test_a_part_is_called_clean_only_as_far_as_the_findings_allow(
    record: Record,
    handover_of: HandoverOf,
    clean: dict[str, Any],
    flaw: dict[str, Any],
    expected: tuple[str, bool] | None,
) -> None:
    record.clean = [CleanPart(part="saddlebag", start_s=1, end_s=2, **clean)]
    record.findings = [finding(**flaw)]
    found = [(part.name, part.apart_from) for part in handover_of(record).clean]
    assert found == ([expected] if expected else [])


@pytest.mark.parametrize(
    ("flaw_s", "status", "start_s", "heard"),
    [
        (10.0, "clear", 3.0, "No leaks on the engine"),
        (10.0, "flagged", 3.0, "No leaks on the engine"),
        (2.0, "clear", 3.0, "No leaks on the engine"),
        (2.0, "flagged", 3.0, ""),
        (2.0, "struck", 3.0, ""),
        (10.0, "clear", 6.0, ""),
    ],
)
def test_a_clean_part_is_quoted_unless_its_sentence_tells_more(
    record: Record,
    handover_of: HandoverOf,
    flaw_s: float,
    status: str,
    start_s: float,
    heard: str,
) -> None:
    record.lines = [Line(id="L1", start_s=1, end_s=5, text="No leaks\x1b[1m on the engine")]
    record.clean = [CleanPart(part="engine", start_s=start_s, end_s=start_s + 1)]
    record.findings = [finding(start_s=flaw_s, end_s=flaw_s + 1, status=status)]
    assert [part.heard for part in handover_of(record).clean] == [heard]


def test_stretches_not_heard_are_joined(record: Record, handover_of: HandoverOf) -> None:
    handover = handover_of(record)
    assert handover.unheard == (Interval(start_s=26, end_s=30),)
    assert handover.doubtful == (Interval(start_s=52, end_s=54),)
    assert "What was said at 0:26-0:30 could not be made out." in handover.open_points()


@pytest.mark.parametrize(
    ("status", "extra", "expected", "text"),
    [
        ("heard", {}, "heard", "words"),
        ("heard", {"flags": ["half_heard"]}, "doubtful", "words"),
        ("unheard", {"reviewed": None}, "unheard", "words"),
        ("doubtful", {"reviewed": "no_finding"}, "heard", "words"),
        ("unheard", {"reviewed": "reread", "said": "typed\x1b"}, "heard", "typed"),
        ("heard", {"reviewed": "not_audible"}, "unheard", "words"),
    ],
)
def test_a_reviewer_decides_how_well_a_line_is_heard(
    status: str, extra: dict[str, Any], expected: str, text: str
) -> None:
    line = Line.model_validate(
        {"id": "L1", "start_s": 0, "end_s": 1, "text": "words", "status": status} | extra
    )
    assert line_status(line) == expected
    assert line_text(line) == text


def test_a_vin_that_does_not_check_says_so(record: Record, handover_of: HandoverOf) -> None:
    record.vehicle.vin_valid = False
    assert "does not fit" in handover_of(record).facts["VIN"]


@pytest.mark.parametrize(
    ("id_", "safe"), [("F001", True), ("../../x", False), ('"><b>', False), ("", False)]
)
def test_anchors_can_name_files(
    record: Record, handover_of: HandoverOf, id_: str, safe: bool
) -> None:
    record.findings = [finding(id=id_)]
    anchor = handover_of(record).flaws[0].anchor
    assert (anchor == id_) is safe
    assert anchor.replace("-", "").replace("_", "").isalnum()


@pytest.mark.parametrize(
    ("tire", "recorded_at", "text"),
    [
        (TireDate(code="3219", week=32, year=2019, position="front"), "2026-08-10T10:00:00Z",
         "front 3219, week 32 of 2019, 7.0 years old when recorded"),
        (TireDate(code="3219", week=32, year=2019), None, "3219, week 32 of 2019"),
        (TireDate(code="329"), "2026-08-10T10:00:00Z", "329"),
    ],
)  # fmt: skip
def test_tire_dates_are_facts_of_the_machine(
    record: Record, handover_of: HandoverOf, tire: TireDate, recorded_at: str | None, text: str
) -> None:
    when = None if recorded_at is None else datetime.fromisoformat(recorded_at)
    record.source = record.source.model_copy(update={"recorded_at": when})
    record.vehicle = record.vehicle.model_copy(update={"tires": [tire]})
    assert handover_of(record).facts["Tire date codes"] == text


@pytest.mark.parametrize(
    ("status", "left"), [("confirmed", 0), ("struck", 0), ("flagged", 1), ("clear", 1)]
)
def test_a_line_is_seen_with_the_finding_that_was_settled_in_it(
    record: Record, status: str, left: int
) -> None:
    record.lines = [Line(id="L1", start_s=1, end_s=5, text="a dent", flags=["near_miss"])]
    record.findings = [finding(line_id="L1", status=status)]
    lines = with_lines_seen(record).lines
    assert [line_status(line) for line in lines].count("doubtful") == left
