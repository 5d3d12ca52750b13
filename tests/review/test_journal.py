"""pipeline/review/journal.py: entries are added whole, read back, and replayed."""

import errno
import os
from datetime import timedelta
from pathlib import Path

import pytest

from pipeline.errors import ReviewError
from pipeline.review.decisions import Accept, Decision, Undo
from pipeline.review.journal import Entry, Files, Journal, append, read_journal, replay, standing
from tests.review.conftest import Opened
from tests.review.records import NOON, record


def entry(number: int, decision: Decision | None = None) -> Entry:
    """An entry that changes nothing."""
    return Entry(
        number=number,
        by="Ann",
        at=NOON + timedelta(minutes=number),
        decision=decision or Accept(target=f"F{number:03}"),
        changes=[],
    )


def test_what_is_added_is_read_again(tmp_path: Path) -> None:
    path = tmp_path / "journal.jsonl"
    journal = append(path, Journal(), [entry(1)])
    journal = append(path, journal, [entry(2), entry(3)])
    journal = append(path, journal, [entry(4)])
    assert read_journal(path) == journal
    assert journal.entries == (entry(1), entry(2), entry(3), entry(4))
    assert len(path.read_text().splitlines()) == 4


def test_an_absent_journal_is_empty(tmp_path: Path) -> None:
    assert read_journal(tmp_path / "journal.jsonl") == Journal()


def test_a_line_cut_off_anywhere_is_passed_over_and_goes_with_the_next_entry(
    tmp_path: Path,
) -> None:
    path = tmp_path / "journal.jsonl"
    whole = append(path, append(path, Journal(), [entry(1)]), [entry(2)])
    content = path.read_bytes()
    first = len(content.splitlines(keepends=True)[0])
    for length in range(first, len(content)):
        path.write_bytes(content[:length])
        journal = read_journal(path)
        assert journal == Journal((entry(1),), first, torn=length > first)
        assert append(path, journal, [entry(2)]) == whole
        assert path.read_bytes() == content


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("{}\n", "line 1 is no decision"),
        ("nonsense\n", "line 1 is no decision"),
        (f"{entry(1).model_dump_json()}\n\n", "line 2 is no decision"),
        (f"{entry(2).model_dump_json()}\n", "line 1 says that it is decision 2"),
    ],
)
def test_a_whole_line_that_is_no_entry_is_named(tmp_path: Path, content: str, says: str) -> None:
    path = tmp_path / "journal.jsonl"
    path.write_text(content)
    with pytest.raises(ReviewError, match=says):
        read_journal(path)


@pytest.mark.parametrize("count", [1, 2])
def test_an_entry_that_cannot_be_saved_leaves_the_journal_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, count: int
) -> None:
    path = tmp_path / "journal.jsonl"
    journal = append(path, Journal(), [entry(1)])
    before = path.read_bytes()

    def fail(_handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(Exception, match="No space left on device"):
        append(path, journal, [entry(number) for number in range(2, 2 + count)])
    assert path.read_bytes() == before


def test_a_link_is_not_written_through(tmp_path: Path) -> None:
    target, link = tmp_path / "target", tmp_path / "journal.jsonl"
    target.touch()
    link.symlink_to(target)
    with pytest.raises(ReviewError, match="is a link"):
        append(link, Journal(), [entry(1)])
    assert target.read_bytes() == b""


def test_first_record_and_journal_give_the_current_record(path: Path, opened: Opened) -> None:
    with opened(path) as sitting:
        sitting.decide(Accept(target="F002"))
        sitting.decide(Accept(target="L005"))
        assert replay(record(), sitting.journal.entries) == sitting.record


def test_what_stands() -> None:
    entries = [entry(1), entry(2), entry(3, Undo(number=2)), entry(4)]
    assert [item.number for item in standing(entries)] == [1, 4]


@pytest.mark.parametrize(
    ("name", "journal", "first"),
    [
        ("findings.json", "journal.jsonl", "findings.first.json"),
        ("other.json", "other.journal.jsonl", "other.first.json"),
    ],
)
def test_the_files_stand_beside_the_findings(
    tmp_path: Path, name: str, journal: str, first: str
) -> None:
    files = Files.beside(tmp_path / name)
    assert files.journal == tmp_path / journal
    assert files.first == tmp_path / first
    assert Files.beside(tmp_path) == Files.beside(tmp_path / "findings.json")
