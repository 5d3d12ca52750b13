from datetime import UTC, datetime
from pathlib import Path

import pytest

from pipeline.errors import PublishError
from pipeline.models import Record
from pipeline.publish.handover import Reviewer
from pipeline.publish.provenance import (
    MANIFEST,
    FileDigest,
    manifest_bytes,
    manifest_of,
    origin,
    read_manifest,
    read_reviewers,
    reviewed,
    sha256,
    verify,
)
from pipeline.review.decisions import Accept, Undo
from pipeline.review.journal import Entry, Files

ANN = Reviewer(
    who="Ann",
    decisions=2,
    first=datetime(2025, 5, 4, 8, tzinfo=UTC),
    last=datetime(2025, 5, 4, 9, tzinfo=UTC),
)


@pytest.fixture
def published(tmp_path: Path, record: Record) -> Path:
    """A folder with two files, its manifest, and the findings file and recording beside it."""
    folder = tmp_path / "published"
    (folder / "stills").mkdir(parents=True)
    files = {"page.html": b"page", "stills/a.jpg": b"picture"}
    for name, content in files.items():
        (folder / name).write_bytes(content)
    for name in ("findings.json", "walk.mp4"):
        (tmp_path / name).write_bytes(name.encode())
    manifest = manifest_of(
        record,
        reviewers=[ANN],
        findings=FileDigest(path="../findings.json", sha256=sha256(b"findings.json")),
        recording=FileDigest(path="../walk.mp4", sha256=sha256(b"walk.mp4")),
        files=files,
    )
    (folder / MANIFEST).write_bytes(manifest_bytes(manifest))
    return folder


def test_an_untouched_folder_has_no_changes(published: Path) -> None:
    assert verify(published) == []
    assert read_manifest(published).reviewers == [ANN]


@pytest.mark.parametrize(
    ("name", "content", "problem"),
    [
        ("page.html", b"other", "page.html: was changed"),
        ("stills/a.jpg", None, "stills/a.jpg: is missing"),
        ("stills/b.jpg", b"new", "stills/b.jpg: was added"),
        ("../findings.json", b"other", "../findings.json: was changed"),
        ("../findings.json", None, "../findings.json: is missing"),
        ("../walk.mp4", b"other", "../walk.mp4: was changed"),
    ],
)
def test_any_change_is_found(
    published: Path, name: str, content: bytes | None, problem: str
) -> None:
    path = published / name
    if content is None:
        path.unlink()
    else:
        path.write_bytes(content)
    assert verify(published) == [problem]


def test_the_recording_may_be_elsewhere_by_now(published: Path) -> None:
    (published.parent / "walk.mp4").unlink()
    assert verify(published) == []


@pytest.mark.parametrize("content", [None, b"{}", b"\xff", b"[]"])
def test_a_folder_without_a_manifest_is_refused(published: Path, content: bytes | None) -> None:
    if content is None:
        (published / MANIFEST).unlink()
    else:
        (published / MANIFEST).write_bytes(content)
    with pytest.raises(PublishError, match="manifest"):
        verify(published)


def test_reviewers_come_from_the_decisions_that_stand(tmp_path: Path) -> None:
    findings = tmp_path / "findings.json"
    assert read_reviewers(findings) == []
    decisions = [
        Accept(target="F001"),
        Accept(target="F002"),
        Undo(number=2),
        Accept(target="F003"),
    ]
    entries = [
        Entry(
            number=number,
            by="Ann",
            at=datetime(2025, 5, 4, 7 + number, tzinfo=UTC),
            decision=decision,
            changes=[],
        )
        for number, decision in enumerate(decisions, start=1)
    ]
    journal = Files.beside(findings).journal
    journal.write_text("".join(entry.model_dump_json() + "\n" for entry in entries))
    assert read_reviewers(findings) == [
        Reviewer(
            who="Ann",
            decisions=2,
            first=datetime(2025, 5, 4, 8, tzinfo=UTC),
            last=datetime(2025, 5, 4, 11, tzinfo=UTC),
        )
    ]


def test_reviewers_are_named_in_a_line() -> None:
    assert reviewed([]) == "not reviewed"
    assert reviewed([ANN]) == "Ann, 2 decisions, last on 2025-05-04 09:00"


def test_the_origin_names_recording_and_program(record: Record) -> None:
    record.source.file_name = "walk\x1b[1m.mp4"
    about = origin(record)
    assert about["Recording"] == "walk.mp4"
    assert about["Recording's SHA-256"] == record.source.sha256
    assert about["Lexicon"] == "motorcycle 1"
    assert about["Logged with"] == "Wearword 0.1.0"
