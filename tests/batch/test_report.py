"""pipeline/batch/report.py: written whole, read again, never over something else."""

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from pipeline.batch.report import Entry, Report, read_report, write_report
from pipeline.errors import BatchError


def report() -> Report:
    return Report(
        program_version="1",
        kind=None,
        lexicon=None,
        speech_model="whisper-base",
        started_at=datetime(2031, 5, 4, tzinfo=UTC),
        recordings=[Entry(recording="a"), Entry(recording="b", state="failed", error="why")],
        earlier=[Entry(recording="c", state="done")],
    )


def test_it_is_read_as_it_was_written(tmp_path: Path) -> None:
    write_report(report(), tmp_path / "report.json")
    again = read_report(tmp_path / "report.json")
    assert again == report()
    assert [entry.recording for entry in again.all_entries] == ["c", "a", "b"]


def test_programs_find_schema_and_counts(tmp_path: Path) -> None:
    write_report(report(), tmp_path / "report.json")
    data = json.loads((tmp_path / "report.json").read_text())
    assert data["schema"] == "wearword/batch/1"
    assert data["counts"] == {"waiting": 1, "failed": 1}
    assert data["recordings"][1]["error"] == "why"


def test_none_is_no_error(tmp_path: Path) -> None:
    assert read_report(tmp_path / "report.json") is None


@pytest.mark.parametrize("content", ["", "{}", '{"schema": "another"}', "[1]"])
def test_something_else_is_refused(tmp_path: Path, content: str) -> None:
    (tmp_path / "report.json").write_text(content)
    with pytest.raises(BatchError, match="no report of a batch"):
        read_report(tmp_path / "report.json")
