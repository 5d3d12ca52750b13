"""pipeline/review/changes.py: changes are made, checked against what was there, and turned back."""

from itertools import islice

import pytest

from pipeline.errors import ReviewError
from pipeline.review.changes import Change, apply, changed, free_ids, made, with_fields
from tests.review.records import finding, record


def test_a_change_holds_only_the_fields_that_differ() -> None:
    old = finding(1, "mirror", "crack", 1)
    change = changed(old, with_fields(old, severity=4, side="left"))
    assert change == Change(
        of="finding",
        id="F001",
        before={"severity": 3, "side": None},
        after={"severity": 4, "side": "left"},
    )


def test_a_field_unknown_to_the_models_comes_and_goes() -> None:
    old = finding(1, "mirror", "crack", 1)
    marked = with_fields(old, merged_into="F009")
    assert marked.model_dump()["merged_into"] == "F009"
    assert with_fields(marked, merged_into=None) == old


def test_an_empty_field_of_the_models_stays() -> None:
    emptied = with_fields(finding(1, "mirror", "crack", 1, side="left"), side=None)
    assert emptied.model_dump()["side"] is None


@pytest.mark.parametrize(
    "change",
    [
        made(finding(9, "mirror", "crack", 2)),
        changed(record().findings[1], with_fields(record().findings[1], status="struck")),
        changed(record().lines[4], with_fields(record().lines[4], reviewed="no_finding")),
        Change(
            of="record",
            before={"unmentioned": ["mirror", "tail_light"]},
            after={"unmentioned": ["mirror"]},
        ),
    ],
    ids=["new finding", "finding", "line", "record"],
)
def test_a_change_turned_back_leaves_no_trace(change: Change) -> None:
    made_once = apply(record(), [change])
    assert made_once != record()
    assert apply(made_once, [change.reverse]) == record()


def test_a_new_finding_stands_where_it_is_spoken() -> None:
    after = apply(record(), [made(finding(9, "mirror", "crack", 3))])
    assert [item.id for item in after.findings] == ["F001", "F002", "F009", "F003"]


def test_a_finding_that_is_spoken_earlier_stands_earlier() -> None:
    old = record().findings[2]
    change = changed(old, with_fields(old, start_s=0.5))
    after = apply(record(), [change])
    assert [item.id for item in after.findings] == ["F003", "F001", "F002"]
    assert apply(after, [change.reverse]) == record()


def test_a_phrase_changes_no_record() -> None:
    phrase = Change(of="lexicon", id="love mark", before=None, after={"names": "scuff"})
    assert apply(record(), [phrase]) == record()


def test_new_ids_go_on_from_the_highest_number() -> None:
    assert list(islice(free_ids(record()), 2)) == ["F004", "F005"]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (Change(of="finding", id="F009", before={}, after={}), "F009 is not in the record"),
        (made(record().findings[0]), "F001 is in the record already"),
        (
            Change(of="finding", id="F001", before={"severity": 4}, after={"severity": 2}),
            "F001: severity is '3' by now and was '4'",
        ),
        (
            Change(of="record", before={"unmentioned": []}, after={"unmentioned": []}),
            "the record: unmentioned is",
        ),
    ],
)
def test_a_change_that_does_not_fit_is_refused(change: Change, says: str) -> None:
    with pytest.raises(ReviewError, match=says):
        apply(record(), [change])
