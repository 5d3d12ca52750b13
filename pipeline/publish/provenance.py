"""Where a handover comes from, and whether anything in it was changed since.

`manifest.json` in the published folder names the recording, the findings file, the program, the
reviewers, and the SHA-256 of every published file.
"""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from pipeline import __version__, wording
from pipeline.errors import MediaError, PublishError
from pipeline.listen.media import digest
from pipeline.models import Record
from pipeline.publish.handover import Reviewer
from pipeline.record import is_file
from pipeline.review.journal import Files, read_journal, standing

MANIFEST = "manifest.json"


class FileDigest(BaseModel):
    """A file by its path relative to the published folder, and its SHA-256."""

    path: str
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")


class Manifest(BaseModel):
    """What was published, from what, by what, and who had reviewed it.

    `recording` is None where the recording was not at hand when the folder was made.
    """

    model_config = ConfigDict(populate_by_name=True)

    schema_: Literal["wearword/manifest/1"] = Field(default="wearword/manifest/1", alias="schema")
    about: dict[str, str]
    reviewers: list[Reviewer]
    findings: FileDigest
    recording: FileDigest | None
    files: list[FileDigest]


def sha256(content: bytes) -> str:
    """SHA-256 as 64 hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()


def read_reviewers(findings: Path) -> list[Reviewer]:
    """Who made the decisions that stand, by the journal beside a findings file; nobody if none.

    Raises ReviewError where the journal cannot be read.
    """
    made: dict[str, list[datetime]] = {}
    for entry in standing(read_journal(Files.beside(findings).journal).entries):
        made.setdefault(entry.by, []).append(entry.at)
    return [
        Reviewer(who=who, decisions=len(at), first=min(at), last=max(at))
        for who, at in made.items()
    ]


def origin(record: Record) -> dict[str, str]:
    """Label to text: the recording, and what made and published the record."""
    source, settings = record.source, record.settings
    said = {
        "Recording": source.file_name,
        "Recording's SHA-256": source.sha256,
        "Recorded": source.recorded_at.isoformat(" ", "minutes") if source.recorded_at else "",
        "Words": settings.speech_model or f"imported transcript ({source.transcript_origin})",
        "Heard again by": settings.second_model or "",
        "Logged with": f"Wearword {settings.program_version}",
        "Lexicon": f"{settings.lexicon} {settings.lexicon_version}",
        "Published with": f"Wearword {__version__}",
    }
    return {label: wording.plain(text) for label, text in said.items() if text}


def reviewed(reviewers: Sequence[Reviewer]) -> str:
    """Who reviewed, and when, in one line."""
    if not reviewers:
        return "not reviewed"
    return "; ".join(
        f"{wording.plain(by.who)}, {wording.counted(by.decisions, 'decision')}, "
        f"last on {by.last:%Y-%m-%d %H:%M}"
        for by in reviewers
    )


def manifest_of(
    record: Record,
    *,
    reviewers: Sequence[Reviewer],
    findings: FileDigest,
    recording: FileDigest | None,
    files: Mapping[str, bytes],
) -> Manifest:
    """The manifest of files about to be published, given as relative path to content."""
    return Manifest(
        about=origin(record),
        reviewers=list(reviewers),
        findings=findings,
        recording=recording,
        files=[FileDigest(path=p, sha256=sha256(files[p])) for p in sorted(files)],
    )


def manifest_bytes(manifest: Manifest) -> bytes:
    """The manifest as JSON in UTF-8."""
    return (manifest.model_dump_json(by_alias=True, indent=2) + "\n").encode()


def read_manifest(folder: Path) -> Manifest:
    """A published folder's manifest; raises PublishError where there is none, or a wrong one."""
    path = folder / MANIFEST
    try:
        return Manifest.model_validate_json(path.read_bytes())
    except FileNotFoundError as error:
        raise PublishError(f"{folder}: holds no {MANIFEST}; name a published folder") from error
    except (OSError, ValidationError) as error:
        raise PublishError(f"{path}: cannot be read as a manifest; publish again") from error


def verify(folder: Path) -> list[str]:
    """What was changed since the folder was published, one line each; empty where nothing was.

    Looks at every published file, at files that came in since, at the findings file and, where it
    is still at hand, at the recording. Raises PublishError as `read_manifest` does.
    """
    return list(_changes(folder, read_manifest(folder)))


def _changes(folder: Path, manifest: Manifest) -> Iterator[str]:
    for entry in [*manifest.files, manifest.findings]:
        yield from _change(folder, entry)
    if manifest.recording and is_file(folder / manifest.recording.path):
        yield from _change(folder, manifest.recording)
    known = {folder / entry.path for entry in manifest.files} | {folder / MANIFEST}
    for path in sorted(folder.rglob("*")):
        if path.is_file() and path not in known:
            yield f"{path.relative_to(folder).as_posix()}: was added"


def _change(folder: Path, entry: FileDigest) -> Iterator[str]:
    path = folder / entry.path
    if not is_file(path):
        yield f"{entry.path}: is missing"
        return
    try:
        if digest(path) != entry.sha256:
            yield f"{entry.path}: was changed"
    except MediaError:
        yield f"{entry.path}: cannot be read"
