"""Findings folders made by hand: a record, and a journal of decisions at given times."""

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from pipeline.models import Source, Vehicle
from pipeline.record import write_record
from pipeline.review.decisions import Accept
from pipeline.review.journal import Entry, Files, Journal, append
from tests.review.records import NOON, record


def source(number: int, **fields: Any) -> Source:
    """A recording of its own content for each number."""
    given: dict[str, Any] = {
        "file_name": f"walk{number}.mp4",
        "sha256": f"{number:064x}",
        "duration_s": 30.0,
        "has_video": True,
        "transcript_origin": "recogniser",
    }
    return Source(**(given | fields))


def findings_folder(path: Path, number: int = 1, **fields: Any) -> Path:
    """A folder with a record: two flagged findings, a doubtful and an unheard line in it."""
    path.mkdir(parents=True, exist_ok=True)
    given = {"source": source(number), "vehicle": Vehicle(kind="motorcycle")} | fields
    write_record(record(**given), path)
    return path


def decided(folder: Path, by: str, *after_s: float, start: datetime = NOON) -> None:
    """A journal of decisions, so many seconds after the start."""
    entries = [
        Entry(
            number=number,
            by=by,
            at=start + timedelta(seconds=seconds),
            decision=Accept(target=f"F{number:03}"),
            changes=[],
        )
        for number, seconds in enumerate(after_s, start=1)
    ]
    append(Files.beside(folder).journal, Journal(), entries)
