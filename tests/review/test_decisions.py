"""pipeline/review/decisions.py: what each decision changes, and what it refuses."""

import json
from typing import Any

import pytest
from pydantic import TypeAdapter

from pipeline.errors import ReviewError
from pipeline.models import Finding, Record
from pipeline.review import decisions
from pipeline.review.changes import apply
from pipeline.review.decisions import Decision, changes_by, read_decisions
from tests.review.records import WORDS, finding, record


def decided(*lines: dict[str, Any], start: Record | None = None) -> Record:
    """The record after decisions written as JSON lines."""
    state = start or record()
    for decision in read_decisions("\n".join(json.dumps(line) for line in lines), "test"):
        state = apply(state, changes_by(state, decision, WORDS))
    return state


def by_id(state: Record, key: str) -> Finding:
    """A finding of the record."""
    return next(item for item in state.findings if item.id == key)


@pytest.mark.parametrize(
    ("line", "target", "fields"),
    [
        ({"kind": "accept"}, "F002", {"status": "confirmed", "flags": []}),
        ({"kind": "strike"}, "F002", {"status": "struck", "flags": []}),
        (
            {"kind": "amend", "to": {"part": "mirror", "side": "right"}},
            "F002",
            {"status": "amended", "flags": [], "part": "mirror", "side": "right",
             "side_basis": "spoken", "defect": "crack"},
        ),
        (
            {"kind": "amend", "to": {"side": None}},
            "F002",
            {"side": None, "side_basis": None},
        ),
        (
            {"kind": "amend", "to": {"severity": 5}},
            "F002",
            {"severity": 5, "severity_basis": "spoken"},
        ),
        ({"kind": "amend", "to": {"defect": "repaint"}}, "F002", {"severity": None}),
        ({"kind": "amend", "to": {"defect": "rust", "severity": 1}}, "F002", {"severity": 1}),
        ({"kind": "amend", "to": {"part": "mirror"}}, "F003", {"caution": None}),
        (
            {"kind": "amend", "to": {"part": "brake_rotor"}},
            "F002",
            {"caution": "A cracked brake part."},
        ),
        ({"kind": "amend", "to": {"part": "other"}}, "F002", {"part": "other"}),
        (
            {"kind": "reread", "said": "dent mirror"},
            "F002",
            {"status": "amended", "part": "mirror", "defect": "dent", "read_as": "dent mirror",
             "heard": "crack saddlebag", "side": None, "flags": []},
        ),
        ({"kind": "not_audible"}, "F002", {"status": "struck"}),
    ],
)  # fmt: skip
def test_what_a_decision_makes_of_a_finding(
    line: dict[str, Any], target: str, fields: dict[str, Any]
) -> None:
    after = by_id(decided(line | {"target": target}), target).model_dump()
    assert {key: after[key] for key in fields} == fields


def test_accepting_an_amended_finding_leaves_it_amended() -> None:
    amend = {"kind": "amend", "target": "F002", "to": {"severity": 2}}
    after = decided(amend, {"kind": "accept", "target": "F002"})
    assert by_id(after, "F002").status == "amended"


def test_what_changes_nothing_is_no_change() -> None:
    once = decided({"kind": "accept", "target": "F002"})
    [again] = read_decisions('{"kind": "accept", "target": "F002"}', "test")
    assert changes_by(once, again, WORDS) == []


@pytest.mark.parametrize(
    ("line", "fields"),
    [
        ({"kind": "accept"}, {"reviewed": "no_finding"}),
        ({"kind": "not_audible"}, {"reviewed": "not_audible"}),
        ({"kind": "reread", "said": "hm"}, {"reviewed": "reread", "said": "hm"}),
    ],
)
def test_what_a_decision_makes_of_a_line(line: dict[str, Any], fields: dict[str, Any]) -> None:
    after = decided(line | {"target": "L005"})
    assert after.lines[4].model_dump() == record().lines[4].model_dump() | fields
    assert after.findings == record().findings


def test_a_finding_that_is_not_audible_settles_its_line_too() -> None:
    after = decided({"kind": "not_audible", "target": "F002"})
    assert after.lines[1].model_dump()["reviewed"] == "not_audible"


def test_what_was_said_in_a_line_becomes_findings() -> None:
    after = decided({"kind": "reread", "target": "L005", "said": "dent mirror, rust fuel_tank"})
    first, second = by_id(after, "F004"), by_id(after, "F005")
    assert (first.part, first.defect, second.part, second.defect) == (
        "mirror", "dent", "fuel_tank", "rust",
    )  # fmt: skip
    assert (first.line_id, first.start_s, first.end_s) == ("L005", 20.0, 25.0)
    assert (first.heard, first.status, first.confidence) == (
        "the mirth is all ding",
        "confirmed",
        1,
    )
    assert after.unmentioned == ["tail_light"], "the mirror has been spoken of after all"


def test_what_was_said_in_a_finding_may_be_more_than_one_flaw() -> None:
    after = decided({"kind": "reread", "target": "F002", "said": "dent mirror crack mirror"})
    assert [item.id for item in after.findings] == ["F001", "F002", "F004", "F003"]
    assert by_id(after, "F004").heard == "crack saddlebag"


def test_a_repeat_becomes_a_mention() -> None:
    after = decided({"kind": "merge", "target": "F003", "into": "F002"})
    repeat = by_id(record(), "F003")
    assert by_id(after, "F003").status == "struck"
    assert by_id(after, "F003").model_dump()["merged_into"] == "F002"
    mention = by_id(after, "F002").mentions[0]
    assert (mention.start_s, mention.end_s, mention.heard) == (
        repeat.start_s, repeat.end_s, repeat.heard,
    )  # fmt: skip
    with pytest.raises(ReviewError, match="F003 is a mention of F002; take that back first"):
        decided({"kind": "accept", "target": "F003"}, start=after)


def test_a_finding_is_split() -> None:
    into = [{"defect": "dent"}, {"defect": "scratch", "severity": 1}, {"part": "mirror"}]
    after = decided({"kind": "split", "target": "F002", "into": into})
    got = [(f.id, f.part, f.defect, f.severity, f.status) for f in after.findings]
    assert got[1:4] == [
        ("F002", "saddlebag", "dent", 3, "amended"),
        ("F004", "saddlebag", "scratch", 1, "confirmed"),
        ("F005", "mirror", "crack", 3, "confirmed"),
    ]


@pytest.mark.parametrize(
    ("at_s", "line_id", "end_s", "heard"),
    [(11.5, "L003", 15.0, "moving on"), (30.5, None, 30.5, "")],
)
def test_a_missed_finding_is_added(
    at_s: float, line_id: str | None, end_s: float, heard: str
) -> None:
    what = {"part": "tail_light", "defect": "repaint", "side": "left"}
    after = decided({"kind": "add", "at_s": at_s, "finding": what})
    new = by_id(after, "F004")
    assert (new.part, new.defect, new.side, new.severity) == ("tail_light", "repaint", "left", None)
    assert (new.line_id, new.start_s, new.end_s, new.heard) == (line_id, at_s, end_s, heard)
    assert new.status == "confirmed"
    assert after.unmentioned == ["mirror"]


def test_ids_go_on_from_the_highest_number() -> None:
    start = record(findings=[finding(1, "mirror", "crack", 1), finding(1234, "mirror", "dent", 2)])
    start.findings[0].id = "odd"
    after = decided(
        {"kind": "add", "at_s": 1, "finding": {"part": "mirror", "defect": "rust"}}, start=start
    )
    assert {item.id for item in after.findings} == {"odd", "F1234", "F1235"}


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ({"kind": "accept", "target": "F099"}, "no finding or line 'F099'"),
        ({"kind": "strike", "target": "L001"}, "'L001' is a line; this"),
        ({"kind": "amend", "target": "F002", "to": {"part": "wing"}}, "'wing' is no part"),
        ({"kind": "amend", "target": "F002", "to": {"defect": "ague"}}, "'ague' is no defect"),
        ({"kind": "amend", "target": "F002", "to": {}}, "line 1: to: .*nothing to change"),
        ({"kind": "amend", "target": "F002", "to": {"severity": 6}}, "line 1: to.severity: "),
        ({"kind": "amend", "target": "F002", "to": {"colour": 6}}, "line 1: to.colour: "),
        ({"kind": "reread", "target": "F002", "said": "hm"}, "'hm' holds no flaw that is understood"),
        ({"kind": "reread", "target": "F002", "said": ""}, "line 1: said: "),
        ({"kind": "merge", "target": "F002", "into": "F002"}, "cannot be a repeat of F002"),
        ({"kind": "split", "target": "F002", "into": [{"severity": 1}]}, "line 1: into: "),
        ({"kind": "add", "at_s": 1, "finding": {"part": "mirror"}}, "needs a part and a defect"),
        ({"kind": "add", "at_s": -1, "finding": {"part": "mirror"}}, "line 1: at_s: "),
        ({"kind": "explain", "phrase": "love mark", "names": "wing"}, "'wing' is no part and no"),
        ({"kind": "explain", "phrase": "love mark", "names": "dent"}, "leaves no file for it"),
        ({"kind": "explain", "phrase": "", "names": "dent"}, "line 1: phrase: "),
        ({"kind": "reclassify", "to": "tractor"}, "line 1: to: "),
        ({"kind": "guess"}, "line 1: .*'guess'"),
        ({}, "line 1: .*'kind'"),
        ([], "line 1: "),
    ],
)  # fmt: skip
def test_a_decision_that_does_not_fit_is_refused(line: dict[str, Any], says: str) -> None:
    with pytest.raises(ReviewError, match=says) as caught:
        decided(line)
    assert "\n" not in str(caught.value)


def test_another_kind_is_written_down_as_the_reviewers() -> None:
    after = decided({"kind": "reclassify", "to": "snowmobile"})
    assert after.vehicle.model_dump(include={"kind", "kind_basis"}) == {
        "kind": "snowmobile", "kind_basis": "reviewed",
    }  # fmt: skip


def test_the_fault_in_a_file_of_decisions_has_its_line_number() -> None:
    with pytest.raises(ReviewError, match="file: line 3: "):
        read_decisions('{"kind": "accept", "target": "F1"}\n\n{"kind"\n', "file")


def test_the_documented_examples_are_decisions() -> None:
    examples = [
        line.strip().split("   ")[0]
        for line in (decisions.__doc__ or "").splitlines()
        if line.strip().startswith("{")
    ]
    adapter: TypeAdapter[Decision] = TypeAdapter(Decision)
    kinds = [adapter.validate_json(example).kind for example in examples]
    assert set(kinds) == {
        "accept", "amend", "reread", "strike", "merge", "split", "add", "not_audible", "explain",
        "reclassify", "undo",
    }  # fmt: skip


def test_a_decision_is_written_as_it_was_given() -> None:
    line = '{"kind":"amend","target":"F003","to":{"part":"mirror","position":null}}'
    assert read_decisions(line, "test")[0].model_dump_json() == line
