"""pipeline/review/questions.py: what is asked, in what order, and what is shown with it."""

from typing import Any

import pytest

from pipeline.models import Line, Record
from pipeline.review.questions import as_json, open_questions, question_about
from tests.review.records import finding, flagged, line, reason, record


def targets(state: Record) -> list[str]:
    """Whom the questions are about."""
    return [question.target for question in open_questions(state, reason)]


def test_what_is_flagged_is_asked() -> None:
    assert targets(record()) == ["F003", "F002", "L005", "L006"]


@pytest.mark.parametrize(
    ("confidence", "order"), [(0.1, ["L005", "F003"]), (0.9, ["F003", "L005"])]
)
def test_a_line_that_may_hide_more_than_a_finding_comes_first(
    confidence: float, order: list[str]
) -> None:
    doubted = line(5, "the mirth", status="doubtful", confidence=confidence)
    asked = [flagged(3, "mirror", "crack", 4)]
    assert targets(record(findings=asked, lines=[doubted])) == order


def test_a_line_shows_what_was_found_in_it() -> None:
    found = [finding(1, "mirror", "dent", 5), finding(2, "mirror", "rust", 5)]
    struck = finding(3, "mirror", "crack", 5, status="struck", line_id="L006")
    state = record(findings=[*found, struck])
    [question] = [q for q in open_questions(state, reason) if q.target == "L005"]
    assert question.found == tuple(found)
    assert as_json(question)["found"] == ["F001", "F002"]


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ({"confidence": 0.2}, {"confidence": 0.6}),
        ({"severity": 5}, {"severity": 1}),
        ({"caution": "Have it looked at."}, {}),
        ({"severity": None}, {"severity": 2}),
        ({}, {}),
    ],
    ids=["less sure", "worse", "caution", "no grade is a middling one", "earlier"],
)
def test_what_an_error_costs_decides_the_order(
    first: dict[str, Any], second: dict[str, Any]
) -> None:
    both = [flagged(1, "mirror", "crack", 1, **first), flagged(2, "mirror", "dent", 2, **second)]
    assert targets(record(findings=both, lines=[])) == ["F001", "F002"]
    if first:
        turned = [
            flagged(1, "mirror", "crack", 2, **first),
            flagged(2, "mirror", "dent", 1, **second),
        ]
        assert targets(record(findings=turned, lines=[])) == ["F001", "F002"]


@pytest.mark.parametrize("status", ["clear", "confirmed", "amended", "struck"])
def test_only_flagged_findings_are_asked_about(status: str) -> None:
    assert targets(record(findings=[finding(1, "mirror", "crack", 1, status=status)])) == [
        "L005",
        "L006",
    ]


@pytest.mark.parametrize(
    "given",
    [
        {"findings": [flagged(1, "mirror", "dent", 5)]},
        {"findings": [finding(1, "mirror", "dent", 5, line_id=None, status="amended")]},
        {"lines": [line(5, "the mirth", status="doubtful", reviewed="no_finding")]},
        {"lines": [line(5, "the mirth")]},
    ],
    ids=["a finding of it is asked about", "one in its time is settled", "settled", "heard"],
)
def test_a_line_is_not_asked_about(given: dict[str, Any]) -> None:
    assert "L005" not in targets(record(**given))


def test_a_question_shows_the_line_and_its_neighbours() -> None:
    state = record()
    question = open_questions(state, reason)[1]
    assert question.finding == state.findings[1]
    assert (question.line_before, question.line, question.line_after) == tuple(state.lines[:3])
    assert question.reasons == ("it is a sound alike",)
    last = open_questions(state, reason)[-1]
    assert (last.line_before, last.line, last.line_after) == (*state.lines[4:6], None)


@pytest.mark.parametrize(
    ("lines", "line_id", "expected"),
    [
        ([line(1, "one"), line(2, "two")], None, "L002"),
        ([line(1, "one"), line(2, "two")], "L001", "L001"),
        ([line(1, "one")], "L009", None),
        ([], None, None),
    ],
    ids=["by time", "by name", "far from any", "no lines"],
)
def test_a_findings_line(lines: list[Line], line_id: str | None, expected: str | None) -> None:
    asked = flagged(1, "mirror", "crack", 2, line_id=line_id)
    question = question_about(record(findings=[asked], lines=lines), asked, reason)
    assert (question.line.id if question.line else None) == expected


def test_other_readings_are_shown_without_the_one_taken() -> None:
    readings = [
        {"text": "crack saddlebag", "part": "saddlebag", "defect": "crack", "margin": 0},
        {"text": "rust saddlebag", "part": "saddlebag", "defect": "rust", "margin": 1.5, "more": 1},
        {"text": "dent saddlebag", "part": "saddlebag", "defect": "dent"},
        {"text": "no reading"},
    ]
    asked = flagged(1, "saddlebag", "crack", 1, readings=readings)
    question = question_about(record(), asked, reason)
    assert [reading.defect for reading in question.readings] == ["rust", "dent"]


@pytest.mark.parametrize("readings", [None, [], "text", 3, {}])
def test_absent_or_odd_readings_are_none(readings: object) -> None:
    asked = flagged(1, "saddlebag", "crack", 1, readings=readings)
    assert question_about(record(), asked, reason).readings == ()


def test_questions_as_json() -> None:
    finding_asked, line_asked = (
        as_json(question)
        for question in open_questions(record(), reason)
        if question.target in ("F002", "L006")
    )
    assert finding_asked["kind"] == "finding"
    assert finding_asked["doubtful_words"] == ["and", "a", "crack", "in", "the", "settle", "bag"]
    assert finding_asked["line_before"] == "there's a scratch on the tank"
    assert (line_asked["kind"], line_asked["finding"]) == ("line", None)
    assert line_asked["line_after"] is None
