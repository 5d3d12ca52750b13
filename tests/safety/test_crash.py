"""Killed, moved or locked at any file call, logging leaves old files or new ones, and goes on."""

import errno
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from crash import Tally, denied, full_disk, gone, hindered, killed

from pipeline.errors import WearwordError
from pipeline.ledger import pages
from pipeline.ledger.database import add_folders, open_ledger
from pipeline.models import Record
from pipeline.publish.folder import publish
from pipeline.publish.provenance import verify
from pipeline.record import write_record
from tests.safety.test_paths import told


@pytest.mark.parametrize(
    "stopped",
    [
        lambda name: killed(name, moments=3),
        lambda name: hindered(name, gone),
        lambda name: hindered(name, denied),
        full_disk,
    ],
    ids=["killed", "gone", "denied", "full"],
)
def test_logging_at_every_file_call(stopped: Callable[[str], Tally]) -> None:
    tally = stopped("log")
    assert tally.tries > 5
    assert tally.faults == ()


def test_a_killed_publication_leaves_nothing_that_verify_would_name(tmp_path: Path) -> None:
    write_record(told(), tmp_path / "findings.json")
    published = publish(tmp_path).folder
    (published / ".page.html.x1y2z3.tmp").write_text(
        "<!doc"
    )  # as a kill before the rename leaves it
    publish(tmp_path)
    assert verify(published) == []


def test_findings_that_go_while_a_ledger_reads_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_record(told(), tmp_path / "findings.json")
    read = pages.read_record

    def read_last(folder: Path) -> Record:
        record = read(folder)
        (folder / "findings.json").unlink()
        return record

    monkeypatch.setattr(pages, "read_record", read_last)
    with open_ledger(tmp_path / "ledger.duckdb") as book:
        added = add_folders(book, [tmp_path])
    assert added.written == 0
    assert "No such file" in "".join(added.failed)


def test_a_full_disk_while_a_ledger_is_made_gets_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    write_record(told(), tmp_path / "findings.json")
    monkeypatch.setattr(Path, "write_bytes", full)
    with (
        pytest.raises(WearwordError, match="No space left"),
        open_ledger(tmp_path / "ledger.duckdb") as book,
    ):
        add_folders(book, [tmp_path])
