"""The rows that one findings folder gives a ledger."""

import hashlib
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple

from lexicon.load import load_lexicon
from pipeline import __version__
from pipeline.errors import RecordError
from pipeline.models import Record
from pipeline.record import FILE_NAME, read_record
from pipeline.review.journal import Entry, Files, read_journal
from pipeline.review.questions import open_questions


class Held(NamedTuple):
    """What the ledger knows of a recording: the folder it was read from, and how much that counts.

    Compared in this order: more decisions, then written later; the folder only makes it certain.
    """

    decisions: int
    written_at: datetime
    folder: str


@dataclass(frozen=True)
class Page:
    """All rows of one findings folder, by table."""

    recording: str
    held: Held
    rows: dict[str, list[dict[str, Any]]]


def content_of(folder: Path) -> str:
    """A digest of all that a folder's rows are made of, and of the program that makes them."""
    digest = hashlib.sha256(__version__.encode())
    files = Files.beside(folder / FILE_NAME)
    for path in (files.findings, files.journal):
        with suppress(OSError):  # who reads it next says what is wrong
            digest.update(path.read_bytes())
    return digest.hexdigest()


def page_of(folder: Path, content: str) -> Page:
    """Raises RecordError or ReviewError where findings or journal cannot be read."""
    record = read_record(folder)
    files = Files.beside(folder / FILE_NAME)
    entries = read_journal(files.journal).entries
    recording = record.source.sha256
    try:
        written_at = datetime.fromtimestamp(files.findings.stat().st_mtime, UTC)
    except OSError as error:  # it went since it was read
        raise RecordError(f"{files.findings}: cannot be read: {error.strerror}") from error
    held = Held(len(entries), written_at.replace(tzinfo=None, microsecond=0), str(folder))
    rows = {
        "records": [_record_row(record, held, content)],
        "findings": _finding_rows(record),
        "open_flags": _flag_rows(record),
        "checklist": _checklist_rows(record),
        "decisions": [_decision_row(entry) for entry in entries],
    }
    for table in rows.values():
        for row in table:
            row["recording"] = recording
    return Page(recording, held, rows)


def _record_row(record: Record, held: Held, content: str) -> dict[str, Any]:
    source, vehicle, settings = record.source, record.vehicle, record.settings
    odometer = vehicle.odometer
    return {
        "folder": held.folder,
        "person": Path(held.folder).parent.name,
        "day": source.recorded_at and source.recorded_at.date().isoformat(),
        "file_name": source.file_name,
        "recorded_at": source.recorded_at and _utc(source.recorded_at),
        "duration_s": source.duration_s,
        "transcript_origin": source.transcript_origin,
        "kind": vehicle.kind,
        "year": vehicle.year,
        "make": vehicle.make,
        "model": vehicle.model,
        "vin": vehicle.vin,
        "stock_number": vehicle.stock_number,
        "odometer": odometer and odometer.value,
        "odometer_unit": odometer and odometer.unit,
        "program_version": settings.program_version,
        "lexicon_version": settings.lexicon_version,
        "speech_model": settings.speech_model,
        "decisions": held.decisions,
        "written_at": held.written_at.isoformat(),
        "content": content,
    }


def _finding_rows(record: Record) -> list[dict[str, Any]]:
    wanted = (
        "id", "part", "position", "side", "detail", "defect", "severity", "severity_basis", "count",
        "size_mm", "area_pct", "start_s", "end_s", "heard", "read_as", "confidence", "status",
        "caution",
    )  # fmt: skip
    area = _areas(record)
    return [
        {"area": area(f.part), **{name: getattr(f, name) for name in wanted}}
        for f in record.findings
    ]


def _flag_rows(record: Record) -> list[dict[str, Any]]:
    """The flags of what a review would ask about."""
    found: list[dict[str, Any]] = []
    for question in open_questions(record, str):
        finding, item = question.finding, question.finding or question.line
        assert item is not None
        found += [
            {
                "target": question.target,
                "flag": flag,
                "part": finding and finding.part,
                "defect": finding and finding.defect,
                "start_s": question.at_s,
                "end_s": question.end_s,
                "said": finding.heard if finding else question.line and question.line.text,
            }
            for flag in item.flags or [item.status]
        ]
    return found


def _checklist_rows(record: Record) -> list[dict[str, Any]]:
    listed = load_lexicon(record.vehicle.kind).kind_entry.checklist
    area = _areas(record)
    return [
        {"part": part, "area": area(part), "spoken_of": part not in record.unmentioned}
        for part in dict.fromkeys([*listed, *record.unmentioned])
    ]


def _decision_row(entry: Entry) -> dict[str, Any]:
    return {
        "number": entry.number,
        "person": entry.by,
        "made_at": _utc(entry.at),
        "kind": entry.decision.kind,
        "target": getattr(entry.decision, "target", None),
    }


def _areas(record: Record) -> Callable[[str], str]:
    """The area of the machine that a part belongs to; "other" for one that the lexicon lacks."""
    parts = load_lexicon(record.vehicle.kind).parts
    return lambda part: parts[part].area if part in parts else "other"


def _utc(at: datetime) -> str:
    """A time as the database takes it; one without a time zone is taken for UTC."""
    return at.astimezone(UTC).replace(tzinfo=None).isoformat() if at.tzinfo else at.isoformat()
