"""pipeline/review/sitting.py: every decision is saved at once; no crash loses or doubles one."""

import json
import os
from collections.abc import Sequence
from contextlib import AbstractContextManager, suppress
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.errors import RecordError, ReviewError
from pipeline.models import Record
from pipeline.record import read_record, sync_folder, write_atomically, write_record
from pipeline.review.changes import Change, with_fields
from pipeline.review.decisions import (
    Accept,
    Add,
    Amend,
    Amendment,
    Decision,
    Explain,
    Merge,
    NotAudible,
    Reclassify,
    Reread,
    Split,
    Strike,
    Undo,
)
from pipeline.review.journal import Files, _append, append, read_journal, replay
from pipeline.review.sitting import (
    Sitting,
    apply_decisions_file,
    current_record,
    history,
    list_questions,
    open_sitting,
)
from pipeline.review.wordbook import Wordbook, added_phrases, lexicon_path
from pipeline.walkaround import Options, log_transcript
from tests.killing import killed_at
from tests.review.conftest import Opened
from tests.review.records import CHOICES, NOON, WORDS, reason, record

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


# --- other words, another kind of machine ---------------------------------------------------------

TALK = """WEBVTT

00:00.000 --> 00:03.000
This bike is clean, but there's a crack in the flimflam.

00:03.000 --> 00:06.000
There's a love mark on the gas tank.

00:06.000 --> 00:09.000
The tunnel has a deep scratch, and the flimflam is bent.
"""


@pytest.fixture
def talk(tmp_path: Path) -> Path:
    """The findings of a talk whose speaker has words of his own and stands at a snowmobile."""
    captions = tmp_path / "talk.vtt"
    captions.write_text(TALK)
    findings = tmp_path / "talk" / "findings.json"
    findings.parent.mkdir()
    write_record(log_transcript(captions, None, Options()).record, findings)
    return findings


def understood(path: Path) -> list[tuple[str, str, str]]:
    """Part, flaw and status of the findings on disk that stand."""
    found = [item for item in read_record(path).findings if item.status != "struck"]
    return [(item.part, item.defect, item.status) for item in found]


def by_reviewer(path: Path) -> AbstractContextManager[Sitting]:
    return open_sitting(path, who="Ann", words=Wordbook.of(lexicon_path()), now=lambda: NOON)


def test_a_phrase_is_used_at_once_and_a_decision_taken_back_takes_it_along(talk: Path) -> None:
    start = read_record(talk)
    with by_reviewer(talk) as sitting:
        [entry] = sitting.decide(Explain(phrase="Love-Mark", names="scuff"))
        assert ("fuel_tank", "scuff", "clear") in understood(talk)
        sitting.decide(Explain(phrase="flimflam", names="mirror"))
        parts = [(part, defect) for part, defect, _ in understood(talk)]
        assert parts.count(("mirror", "crack")) == parts.count(("mirror", "bent")) == 1
        assert added_phrases(lexicon_path()) == [("flimflam", "mirror"), ("love mark", "scuff")]
        assert "mirror" not in sitting.record.unmentioned
    assert replay(start, history(talk).entries) == current_record(talk) == read_record(talk)
    assert entry.decision == Explain(phrase="Love-Mark", names="scuff")
    with by_reviewer(talk) as sitting:
        sitting.decide(Undo())
        assert added_phrases(lexicon_path()) == [("love mark", "scuff")]
        sitting.decide(Undo())
        assert added_phrases(lexicon_path()) == []
        assert sitting.record == start


def test_a_phrase_that_is_known_is_read_by_and_stays_when_it_is_taken_back(talk: Path) -> None:
    Wordbook.of(lexicon_path()).keep(
        [Change(of="lexicon", id="love mark", before=None, after={"names": "scuff"})]
    )
    with by_reviewer(talk) as sitting:
        sitting.decide(Explain(phrase="love mark", names="scuff"))
        assert ("fuel_tank", "scuff", "clear") in understood(talk)
        sitting.decide(Undo())
    assert added_phrases(lexicon_path()) == [("love mark", "scuff")]


def test_another_kind_is_understood_anew_and_what_is_settled_stays(talk: Path) -> None:
    start = read_record(talk)
    assert start.vehicle.kind == "motorcycle"
    [scratch] = [item for item in start.findings if item.defect == "scratch"]
    [bent] = [item for item in start.findings if item.defect == "bent"]
    assert scratch.part == "other"
    assert "unknown_part" in scratch.flags
    with by_reviewer(talk) as sitting:
        sitting.decide(Amend(target=bent.id, to=Amendment(part="mirror", severity=1)))
        settled = next(item for item in sitting.record.findings if item.id == bent.id)
        sitting.decide(Reclassify(to="snowmobile"))
        after = sitting.record
    assert (after.vehicle.kind, after.vehicle.kind_basis) == ("snowmobile", "reviewed")
    assert after.settings.lexicon == "snowmobile"
    found = {item.id: item for item in after.findings}
    assert found[bent.id] == settled
    assert (found[scratch.id].part, found[scratch.id].flags) == ("tunnel", [])
    assert "ski" in after.unmentioned
    assert replay(start, history(talk).entries) == after == current_record(talk)
    with by_reviewer(talk) as sitting:
        assert "ski" in sitting.choices.parts
        sitting.decide(Undo())
        assert "ski" not in sitting.choices.parts
        sitting.decide(Undo())
        assert sitting.record == start


def test_a_kind_that_is_confirmed_is_no_guess_any_more(talk: Path) -> None:
    start = read_record(talk)
    with by_reviewer(talk) as sitting:
        [entry] = sitting.decide(Reclassify(to="motorcycle"))
    assert [change.of for change in entry.changes] == ["record"]
    assert read_record(talk).vehicle.kind_basis == "reviewed"
    assert read_record(talk).findings == start.findings


def test_decisions_from_a_file_are_read_by_the_words_before_them(talk: Path) -> None:
    lines = [
        '{"kind": "reclassify", "to": "snowmobile"}',
        '{"kind": "explain", "phrase": "flimflam", "names": "ski"}',
        '{"kind": "reread", "target": "L002", "said": "a bent flimflam"}',
    ]
    file = talk.with_name("decisions")
    file.write_text("\n".join([*lines, '{"kind": "explain", "phrase": "tank", "names": "ski"}']))
    words = Wordbook.of(lexicon_path())
    start = read_record(talk)
    with pytest.raises(ReviewError, match="'tank' already stands for the part 'fuel_tank'"):
        apply_decisions_file(talk, file, who="Ben", words=words)
    assert read_record(talk) == start
    assert not lexicon_path().exists()
    file.write_text("\n".join(lines))
    assert len(apply_decisions_file(talk, file, who="Ben", words=words)) == 3
    assert ("ski", "bent", "confirmed") in understood(talk)
    assert added_phrases(lexicon_path()) == [("flimflam", "ski")]


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_killed_anywhere_a_phrase_is_whole_and_can_be_explained_again(talk: Path) -> None:
    def explain() -> None:
        with by_reviewer(talk) as sitting:
            sitting.decide(Explain(phrase="love mark", names="scuff"))

    start = {item.name: item.read_bytes() for item in talk.parent.iterdir()}
    step, seen = 0, set()
    while killed_at(step, explain, WRITERS):
        kept, made = added_phrases(lexicon_path()), len(history(talk).entries)
        seen.add((len(kept), made))
        if not made:
            explain()
        assert added_phrases(lexicon_path()) == [("love mark", "scuff")]
        assert ("fuel_tank", "scuff", "clear") in [
            (item.part, item.defect, item.status) for item in current_record(talk).findings
        ]
        for item in (*talk.parent.iterdir(), *lexicon_path().parent.iterdir()):
            item.unlink()
        for name, content in start.items():
            (talk.parent / name).write_bytes(content)
        step += 8
    assert seen == {(0, 0), (1, 0), (1, 1)}


# --- decisions from a file ------------------------------------------------------------------------


def test_a_file_of_decisions_is_made_in_order(path: Path, tmp_path: Path) -> None:
    file = tmp_path / "decisions.jsonl"
    file.write_text('{"kind": "strike", "target": "F002"}\n{"kind": "undo"}\n')
    entries = apply_decisions_file(path, file, who="Ben", words=WORDS, now=lambda: NOON)
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
        apply_decisions_file(path, file, who="Ben", words=WORDS)
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
    st.builds(Reclassify, to=st.sampled_from(["motorcycle", "snowmobile"])),
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
        with open_sitting(path, who="Ann", words=WORDS) as sitting:
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
    with open_sitting(path, who="Ann", words=WORDS, now=lambda: NOON) as sitting:
        sitting.decide(Strike(target="F002"))
        sitting.decide(Add(at_s=11, finding=Amendment(part="mirror", defect="dent")))


def review_from_file(path: Path) -> None:
    """The same two decisions, from a file."""
    apply_decisions_file(
        path,
        path.with_name("decisions"),
        who="Ann",
        words=WORDS,
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
            with open_sitting(path, who="Ann", words=WORDS):
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
