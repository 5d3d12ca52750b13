"""pipeline/ledger/database.py: each recording once, whatever is added how often in which order."""

import os
import shutil
import sys
from pathlib import Path
from typing import Any

import pytest

from pipeline.errors import LedgerError
from pipeline.ledger import database
from pipeline.ledger.database import Added, add_folders, findings_folders, open_ledger, rows
from pipeline.ledger.schema import NAMES, TABLES
from tests.killing import killed_at
from tests.ledger.records import decided, findings_folder
from tests.review.records import finding

duckdb = pytest.importorskip("duckdb", reason="needs the extra 'ledger'")


def add(ledger: Path, *sources: Path) -> Added:
    with open_ledger(ledger) as opened:
        return add_folders(opened, findings_folders(sources))


def everything(ledger: Path) -> dict[str, list[dict[str, Any]]]:
    with open_ledger(ledger) as opened:
        return {name: rows(opened, name) for name in NAMES}


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """Three recordings by two persons; one has been reviewed."""
    findings_folder(tmp_path / "yard/ana/a.walkaround", 1)
    findings_folder(tmp_path / "yard/ben/b.walkaround", 2)
    decided(findings_folder(tmp_path / "yard/ben/c.walkaround", 3), "Cay", 0, 20)
    return tmp_path / "yard"


def test_adding_again_changes_nothing(tmp_path: Path, yard: Path) -> None:
    ledger = tmp_path / "l.duckdb"
    assert add(ledger, yard) == Added(written=3)
    first = everything(ledger)
    assert [len(first[name]) for name in TABLES] == [3, 9, 12, 3 * len(first["checklist"]) // 3, 2]
    assert add(ledger, yard) == Added(unchanged=3)
    assert add(ledger, yard / "ana", yard / "ben", yard) == Added(unchanged=3)
    assert everything(ledger) == first


def test_a_change_replaces_the_recordings_rows(tmp_path: Path, yard: Path) -> None:
    ledger = tmp_path / "l.duckdb"
    add(ledger, yard)
    findings_folder(yard / "ana/a.walkaround", 1, findings=[])
    assert add(ledger, yard) == Added(written=1, unchanged=2)
    assert len(everything(ledger)["findings"]) == 6
    findings_folder(yard / "ana/a.walkaround", 9)  # another recording under the old name
    assert add(ledger, yard) == Added(written=1, unchanged=2)
    found = everything(ledger)
    assert len(found["findings"]) == 9
    assert f"{1:064x}" not in {row["recording"] for name in TABLES for row in found[name]}


def test_of_two_folders_of_one_recording_the_reviewed_counts_in_any_order(tmp_path: Path) -> None:
    first = findings_folder(tmp_path / "ana/a.walkaround", 1)
    decided(first, "Cay", 0)
    later = findings_folder(tmp_path / "ana/a.walkaround-2", 1, findings=[])
    apart = findings_folder(tmp_path / "ana/b.walkaround-2", 1)
    os.utime(apart / "findings.json", (2e9, 2e9))
    seen = []
    for number, order in enumerate(
        ([first, later, apart], [apart, first, later], [later, apart, first])
    ):
        ledger = tmp_path / f"{number}.duckdb"
        for folder in order:
            add(ledger, folder)
        add(ledger, tmp_path)
        seen.append(everything(ledger))
    assert seen[0]["records"][0]["folder"] == str(first)
    assert all(found == seen[0] for found in seen)
    (first / "journal.jsonl").unlink()
    assert add(ledger, tmp_path).written == 1
    assert everything(ledger)["records"][0]["folder"] == str(apart)


def test_a_folder_that_moved_is_no_second_recording(tmp_path: Path, yard: Path) -> None:
    ledger = tmp_path / "l.duckdb"
    add(ledger, yard)
    shutil.move(yard / "ana", yard / "zoe")
    add(ledger, yard)
    assert {row["person"] for row in everything(ledger)["records"]} == {"zoe", "ben"}


def test_what_cannot_be_read_stops_nothing(tmp_path: Path, yard: Path) -> None:
    (yard / "ana/a.walkaround/findings.json").write_text("{")
    (yard / "ben/c.walkaround/journal.jsonl").write_text("nonsense\n")
    added = add(tmp_path / "l.duckdb", yard)
    assert added.written == 1
    assert [Path(line.split(":")[0]).name for line in added.failed] == [
        "findings.json",
        "journal.jsonl",
    ]


def test_killed_on_the_way_it_is_as_it_was_or_whole(tmp_path: Path, yard: Path) -> None:
    ledger = tmp_path / "l.duckdb"
    add(ledger, yard / "ana")
    before = everything(ledger)
    add(tmp_path / "whole.duckdb", yard)
    whole = everything(tmp_path / "whole.duckdb")
    step, outcomes, killed = 0, set(), True
    while killed:
        copy = tmp_path / f"{step}.duckdb"
        shutil.copy(ledger, copy)
        killed = killed_at(
            step, lambda copy=copy: add(copy, yard), [add_folders, database._add]  # type: ignore[misc]
        )  # fmt: skip
        found = everything(copy)
        assert found in (before, whole)
        outcomes.add(found == whole)
        add(copy, yard)
        assert everything(copy) == whole
        step += 13
    assert outcomes == {False, True}


def test_hostile_words_stay_words(tmp_path: Path) -> None:
    said = "tank'); DROP TABLE findings; --\0 \u202e"
    odd = finding(1, "fuel_tank", "scratch", 1, heard=said)
    folder = findings_folder(tmp_path / "o'neil" / "a.walkaround", 1, findings=[odd])
    ledger = tmp_path / "l.duckdb"
    assert add(ledger, folder).written == 1
    (row,) = everything(ledger)["findings"]
    assert row["heard"] == "tank'); DROP TABLE findings; -- \u202e"
    assert everything(ledger)["records"][0]["person"] == "o'neil"


@pytest.mark.parametrize("content", [b"", b"not a database" * 400])
def test_another_file_is_no_ledger(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "l.duckdb"
    path.write_bytes(content)
    with pytest.raises(LedgerError, match=r"l\.duckdb"), open_ledger(path):
        pass
    assert path.read_bytes() == content


def test_another_database_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "mine.duckdb"
    with duckdb.connect(str(path)) as mine:
        mine.execute("CREATE TABLE mine (x INTEGER)")
    with pytest.raises(LedgerError, match="but no ledger"), open_ledger(path):
        pass
    with duckdb.connect(str(path)) as mine:
        mine.execute("CREATE TABLE about (schema VARCHAR)")
        mine.execute("INSERT INTO about VALUES ('wearword/ledger/99')")
    with pytest.raises(LedgerError, match="another version"), open_ledger(path):
        pass


def test_folders_without_findings(tmp_path: Path) -> None:
    with pytest.raises(LedgerError, match="no findings"):
        findings_folders([tmp_path])
    with pytest.raises(LedgerError, match="no such folder"):
        findings_folders([tmp_path / "gone"])


def test_without_the_extra_it_says_how_to_get_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "duckdb", None)
    with (
        pytest.raises(LedgerError, match=r"pip install 'wearword\[ledger\]'"),
        open_ledger(tmp_path / "l.duckdb"),
    ):
        pass
