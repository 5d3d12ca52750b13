"""pipeline/review/sitting.py: every decision is saved at once; no crash loses or doubles one."""

import json
import os
from collections.abc import Sequence
from contextlib import suppress
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.errors import RecordError, ReviewError
from pipeline.models import Record
from pipeline.record import read_record, sync_folder, write_atomically, write_record
from pipeline.review.changes import with_fields
from pipeline.review.decisions import (
    Accept,
    Add,
    Amend,
    Amendment,
    Decision,
    Merge,
    NotAudible,
    Reread,
    Split,
    Strike,
    Undo,
)
from pipeline.review.journal import Files, _append, append, read_journal, replay
from pipeline.review.sitting import (
    apply_decisions_file,
    current_record,
    history,
    list_questions,
    open_sitting,
)
from tests.killing import killed_at
from tests.review.conftest import Opened
from tests.review.records import CHOICES, NOON, reason, record, understand_text

WRITERS = (append, _append, write_atomically, sync_folder)


def test_each_decision_is_on_disk_when_it_is_made(path: Path, opened: Opened) -> None:
    with opened(path) as sitting:
        for target in ("F002", "L005", "F003"):
            [entry] = sitting.decide(Accept(target=target))
            assert read_journal(path.with_name("journal.jsonl")).entries[-1] == entry
            assert read_record(path) == sitting.record
    assert [entry.by for entry in history(path).entries] == ["Ann"] * 3
    assert history(path).entries[0].at == NOON


def test_the_first_record_is_kept_and_nothing_is_written_before_a_decision(
    path: Path, opened: Opened
) -> None:
    before = path.read_bytes()
    with opened(path):
        pass
    assert {item.name for item in path.parent.iterdir()} <= {"findings.json", ".journal.lock"}
    with opened(path) as sitting:
        sitting.decide(Strike(target="F001"))
        sitting.decide(Strike(target="F002"))
    assert path.with_name("findings.first.json").read_bytes() == before


def test_undo_goes_back_to_the_very_start(path: Path, opened: Opened) -> None:
    with opened(path) as sitting:
        sitting.decide(Merge(target="F003", into="F002"))
        sitting.decide(Add(at_s=11, finding=Amendment(part="mirror", defect="dent")))
    with opened(path) as sitting:
        sitting.decide(Undo())
        [last] = sitting.decide(Undo())
        assert last.decision == Undo(number=1)
        assert sitting.record == record()
        with pytest.raises(ReviewError, match="there is no decision to take back"):
            sitting.decide(Undo())
    assert read_record(path) == record()


def test_an_earlier_decision_is_taken_back_where_none_builds_on_it(
    path: Path, opened: Opened
) -> None:
    with opened(path) as sitting:
        sitting.decide(Amend(target="F002", to=Amendment(severity=2)))
        sitting.decide(Strike(target="F003"))
        sitting.decide(Amend(target="F002", to=Amendment(severity=4)))
        sitting.decide(Undo(number=2))
        assert sitting.record.findings[2].status == "flagged"
        with pytest.raises(ReviewError, match="take 3 back first"):
            sitting.decide(Undo(number=1))
        for number in (2, 4, 99):
            with pytest.raises(ReviewError, match=f"decision {number} does not stand"):
                sitting.decide(Undo(number=number))


def test_a_decision_is_not_taken_back_where_its_value_has_come_again(
    path: Path, opened: Opened
) -> None:
    with opened(path) as sitting:
        for decision in (Strike(target="F002"), Accept(target="F002"), Strike(target="F002")):
            sitting.decide(decision)
        with pytest.raises(ReviewError, match="decision 3 was made on top of decision 1"):
            sitting.decide(Undo(number=1))


def test_a_second_sitting_is_told(path: Path, opened: Opened) -> None:
    with (
        opened(path),
        pytest.raises(ReviewError, match="another review of it is open"),
        opened(path),
    ):
        pass
    with opened(path) as sitting:
        assert sitting.record == record()


def test_a_wrong_place_gets_no_lock_file(tmp_path: Path, opened: Opened) -> None:
    with pytest.raises(RecordError), opened(tmp_path):
        pass
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("behind", [1, 2])
def test_a_findings_file_behind_its_journal_is_brought_up(
    path: Path, opened: Opened, behind: int
) -> None:
    with opened(path) as sitting:
        for target in ("F001", "F002", "F003"):
            sitting.decide(Accept(target=target))
        final = sitting.record
    write_record(replay(record(), history(path).entries[: 3 - behind]), path)
    assert current_record(path) == final
    with opened(path) as sitting:
        assert sitting.record == final
    assert read_record(path) == final


def test_a_findings_file_made_anew_is_not_reviewed_with_the_old_journal(
    path: Path, opened: Opened
) -> None:
    with opened(path) as sitting:
        sitting.decide(Accept(target="F002"))
    write_record(record(unmentioned=["saddlebag"]), path)
    with pytest.raises(ReviewError, match=r"move journal.jsonl and findings.first.json away"):
        current_record(path)
    with pytest.raises(ReviewError, match="made anew or edited"), opened(path):
        pass


def test_a_first_record_with_no_decision_after_it_is_replaced(path: Path, opened: Opened) -> None:
    write_record(record(unmentioned=[]), path.with_name("findings.first.json"))
    with opened(path) as sitting:
        sitting.decide(Accept(target="F002"))
    assert read_record(path.with_name("findings.first.json")) == record()


def test_stills_added_by_a_hand_over_stay(path: Path, opened: Opened) -> None:
    with opened(path) as sitting:
        sitting.decide(Accept(target="F002"))
        state = sitting.record
    with_still = with_fields(state.findings[0], still="stills/F001.jpg")
    write_record(state.model_copy(update={"findings": [with_still, *state.findings[1:]]}), path)
    with opened(path) as sitting:
        sitting.decide(Accept(target="F003"))
    assert read_record(path).findings[0].still == "stills/F001.jpg"


def test_a_decision_that_does_not_fit_changes_nothing(path: Path, opened: Opened) -> None:
    with opened(path) as sitting:
        sitting.decide(Accept(target="F002"))
        before = {item.name: item.read_bytes() for item in path.parent.iterdir()}
        with pytest.raises(ReviewError):
            sitting.decide(Accept(target="F003"), Strike(target="F099"))
        assert {item.name: item.read_bytes() for item in path.parent.iterdir()} == before
        assert sitting.decide() == []
        assert sitting.record == read_record(path)


def test_open_questions_are_listed_as_json_without_a_sitting(path: Path, opened: Opened) -> None:
    with opened(path) as sitting:
        sitting.decide(Accept(target="F003"))
        listed = list_questions(path, reason)
    assert [question["target"] for question in listed] == ["F002", "L005", "L006"]
    assert json.loads(json.dumps(listed)) == listed


# --- decisions from a file ------------------------------------------------------------------------


def test_a_file_of_decisions_is_made_in_order(path: Path, tmp_path: Path) -> None:
    file = tmp_path / "decisions.jsonl"
    file.write_text('{"kind": "strike", "target": "F002"}\n{"kind": "undo"}\n')
    entries = apply_decisions_file(
        path, file, who="Ben", choices=CHOICES, understand_text=understand_text, now=lambda: NOON
    )
    assert [(entry.number, entry.by, entry.decision.kind) for entry in entries] == [
        (1, "Ben", "strike"),
        (2, "Ben", "undo"),
    ]
    assert read_record(path) == record()


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b'{"kind": "strike", "target": "F002"}\n{"kind": "strike"}\n', "line 2: target: "),
        (b'{"kind": "strike", "target": "F002"}\n{"kind": "strike", "target": "F9"}\n', "'F9'"),
        (b"\xff", "cannot be read"),
    ],
)
def test_a_file_of_decisions_is_made_wholly_or_not_at_all(
    path: Path, tmp_path: Path, content: bytes, says: str
) -> None:
    file = tmp_path / "decisions.jsonl"
    file.write_bytes(content)
    with pytest.raises(ReviewError, match=says):
        apply_decisions_file(
            path, file, who="Ben", choices=CHOICES, understand_text=understand_text
        )
    assert read_record(path) == record()
    assert history(path).entries == ()


# --- any decisions, any crash ---------------------------------------------------------------------

_FINDINGS = st.sampled_from([f"F{number:03}" for number in range(1, 7)])
_TARGETS = _FINDINGS | st.sampled_from([f"L{number:03}" for number in range(1, 7)])
_AMENDMENTS = st.fixed_dictionaries(
    {},
    optional={
        "part": st.sampled_from([*CHOICES.parts, "other"]),
        "defect": st.sampled_from(list(CHOICES.defects)),
        "side": st.sampled_from(["left", "right", "both", None]),
        "severity": st.integers(0, 5) | st.none(),
        "size_mm": st.floats(0, 1000) | st.none(),
    },
).filter(bool).map(lambda fields: Amendment(**fields))  # fmt: skip
_DECISIONS: st.SearchStrategy[Decision] = st.one_of(
    st.builds(Accept, target=_TARGETS),
    st.builds(Amend, target=_FINDINGS, to=_AMENDMENTS),
    st.builds(
        Reread,
        target=_TARGETS,
        said=st.sampled_from(["dent mirror", "rust fuel_tank crack mirror", "nothing much"]),
    ),
    st.builds(Strike, target=_FINDINGS),
    st.builds(Merge, target=_FINDINGS, into=_FINDINGS),
    st.builds(Split, target=_FINDINGS, into=st.lists(_AMENDMENTS, min_size=2, max_size=3)),
    st.builds(Add, at_s=st.floats(0, 40), finding=_AMENDMENTS),
    st.builds(NotAudible, target=_TARGETS),
    st.builds(Undo, number=st.none() | st.integers(1, 8)),
)


@settings(max_examples=30, deadline=None)
@given(st.lists(_DECISIONS, max_size=12))
def test_any_decisions_replay_to_the_current_record_and_undo_to_the_first(
    decisions: Sequence[Decision],
) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "findings.json"
        write_record(record(), path)
        with open_sitting(
            path, who="Ann", choices=CHOICES, understand_text=understand_text
        ) as sitting:
            for decision in decisions:
                with suppress(ReviewError):
                    sitting.decide(decision)
            entries = read_journal(Files.beside(path).journal).entries
            assert replay(record(), entries) == sitting.record == read_record(path)
            with suppress(ReviewError):
                while True:
                    sitting.decide(Undo())
            assert sitting.record == record()


def review_twice(path: Path) -> None:
    """Two decisions, the second one new to the record."""
    with open_sitting(
        path, who="Ann", choices=CHOICES, understand_text=understand_text, now=lambda: NOON
    ) as sitting:
        sitting.decide(Strike(target="F002"))
        sitting.decide(Add(at_s=11, finding=Amendment(part="mirror", defect="dent")))


def review_from_file(path: Path) -> None:
    """The same two decisions, from a file."""
    apply_decisions_file(
        path,
        path.with_name("decisions"),
        who="Ann",
        choices=CHOICES,
        understand_text=understand_text,
        now=lambda: NOON,
    )


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
@pytest.mark.parametrize("made", [0, 1])
def test_killed_anywhere_every_decision_is_there_or_is_not(path: Path, made: int) -> None:
    lines = ['{"kind": "strike", "target": "F002"}']
    lines += ['{"kind": "add", "at_s": 11, "finding": {"part": "mirror", "defect": "dent"}}']
    path.with_name("decisions").write_text("\n".join(lines))
    action = (review_twice, review_from_file)[made]
    start = {item.name: item.read_bytes() for item in path.parent.iterdir()}
    seen: list[Record] = []
    step = 0
    while killed_at(step, partial(action, path), WRITERS):
        now = current_record(path)
        if now not in seen:
            seen.append(now)
        if now != read_record(path):
            with open_sitting(path, who="Ann", choices=CHOICES, understand_text=understand_text):
                assert read_record(path) == now
        for item in path.parent.iterdir():
            item.unlink()
        for name, content in start.items():
            (path.parent / name).write_bytes(content)
        step += 1
    assert step > 50
    wholes = [read_record(path)]
    first = history(path).entries[:1]
    between = [replay(record(), first)] if made == 0 else []
    assert seen == [record(), *between, *wholes]
