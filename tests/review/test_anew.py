"""pipeline/review/anew.py: what another understanding changes, and what it leaves alone."""

from typing import Any

import pytest

from pipeline.models import Finding, Record, Vehicle
from pipeline.review.anew import changes_to
from pipeline.review.changes import apply, with_fields
from tests.review.records import finding, flagged, line, record


def brought_up(start: Record, *fresh: Finding, **fields: Any) -> Record:
    """The record after a talk was understood anew; a way back to the start is there."""
    given: dict[str, Any] = {"lines": start.lines} | fields
    changes = changes_to(start, record(findings=list(fresh), **given))
    after = apply(start, changes)
    assert apply(after, [change.reverse for change in reversed(changes)]) == start
    return after


def told(state: Record) -> list[tuple[str, str, str, str]]:
    return [(item.id, item.part, item.defect, item.status) for item in state.findings]


def test_the_same_understanding_changes_nothing() -> None:
    assert changes_to(record(), record()) == []


def test_findings_come_and_go_and_change_under_their_id() -> None:
    after = brought_up(
        record(),
        finding(1, "mirror", "dent", 5),
        finding(2, "fuel_tank", "scratch", 1, start_s=0.5),
        finding(3, "mirror", "crack", 4),
    )
    assert told(after) == [
        ("F001", "fuel_tank", "scratch", "clear"),
        ("F003", "mirror", "crack", "clear"),
        ("F004", "mirror", "dent", "clear"),
    ]
    assert after.findings[0].start_s == 0.5


@pytest.mark.parametrize(
    "fresh",
    [
        finding(1, "mirror", "dent", 2),
        finding(1, "mirror", "crack", 2, end_s=9),
    ],
    ids=["the same words", "the same flaw in some of the words"],
)
@pytest.mark.parametrize("status", ["confirmed", "amended", "struck"])
def test_a_settled_finding_stays(fresh: Finding, status: str) -> None:
    settled = finding(2, "saddlebag", "crack", 2, status=status)
    assert brought_up(record(findings=[settled]), fresh).findings == [settled]


def test_a_settled_finding_hides_no_other_flaw_of_its_words() -> None:
    settled = finding(2, "saddlebag", "crack", 2, status="confirmed")
    after = brought_up(record(findings=[settled]), finding(1, "mirror", "dent", 2, end_s=9))
    assert told(after)[1:] == [("F003", "mirror", "dent", "clear")]


def test_the_most_alike_are_the_same() -> None:
    both = [flagged(1, "mirror", "dent", 2), finding(2, "fuel_tank", "dent", 2)]
    both[1] = with_fields(both[1], status="confirmed")
    fresh = finding(1, "fuel_tank", "dent", 2), finding(2, "saddlebag", "dent", 2)
    assert told(brought_up(record(findings=both), *fresh)) == [
        ("F001", "saddlebag", "dent", "clear"),
        ("F002", "fuel_tank", "dent", "confirmed"),
    ]


def test_a_finding_with_a_repeat_is_settled() -> None:
    told_twice = flagged(1, "mirror", "dent", 1)
    repeat = with_fields(finding(2, "mirror", "dent", 2, status="struck"), merged_into="F001")
    start = record(findings=[told_twice, repeat])
    assert brought_up(start).findings == start.findings


def test_a_settled_line_stays_with_all_that_stands_in_it() -> None:
    lines = [line(1, "a dent", reviewed="no_finding", flags=["near_miss"], status="doubtful")]
    start = record(findings=[flagged(1, "mirror", "dent", 1)], lines=lines)
    fresh = [with_fields(lines[0], flags=[], status="heard")]
    after = brought_up(start, finding(1, "mirror", "rust", 1, start_s=3, end_s=4), lines=fresh)
    assert (after.findings, after.lines) == (start.findings, start.lines)


def test_the_lines_and_the_rest_of_the_record_are_brought_up() -> None:
    start = record(findings=[finding(1, "mirror", "dent", 2, status="confirmed")])
    lines = [with_fields(each, flags=[], status="heard") for each in start.lines]
    vehicle = Vehicle(kind="snowmobile", kind_basis="reviewed")
    after = brought_up(start, lines=lines, vehicle=vehicle, unmentioned=["mirror", "ski"])
    assert (after.lines, after.vehicle) == (lines, vehicle)
    assert after.unmentioned == ["ski"], "the mirror was spoken of, as a reviewer has said"


def test_a_still_stays_with_its_finding() -> None:
    start = record(findings=[finding(1, "mirror", "dent", 2, still="stills/F001.jpg")])
    [after] = brought_up(start, finding(1, "mirror", "dent", 2, severity=4)).findings
    assert (after.severity, after.still) == (4, "stills/F001.jpg")


def test_findings_that_begin_together_come_back_in_order() -> None:
    start = record(findings=[flagged(1, "mirror", "dent", 2), flagged(2, "mirror", "rust", 2)])
    assert brought_up(start, finding(1, "mirror", "rust", 2)).findings[0].id == "F002"
