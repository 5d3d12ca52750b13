"""The journal of decisions beside a findings file: JSON lines, only ever added to.

Each line is one `Entry`. The record as it was before the first decision is kept beside it, so that
first record and journal always give the current one: `replay(first, entries)`.
"""

import os
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from functools import reduce
from pathlib import Path

from pydantic import BaseModel, ConfigDict, ValidationError

from pipeline.errors import ReviewError
from pipeline.models import Record
from pipeline.record import findings_path, sync_folder, write_atomically
from pipeline.review.changes import Change, apply
from pipeline.review.decisions import Decision, Undo


class Entry(BaseModel):
    """A decision as it was made: its number from 1, by whom, when, and what it changed."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    number: int
    by: str
    at: datetime
    decision: Decision
    changes: list[Change]

    @property
    def touches(self) -> frozenset[tuple[str, str | None, str]]:
        """Every field that was changed, with the item that it is of."""
        return frozenset(
            (change.of, change.id, key)
            for change in self.changes
            for key in {**(change.before or {}), **(change.after or {})}
        )


@dataclass(frozen=True)
class Journal:
    """The entries of a journal file, and how many bytes of it are whole lines.

    `torn`: behind them stands a line whose writing was cut off, so that nobody was told that it
    was saved; it is passed over.
    """

    entries: tuple[Entry, ...] = ()
    whole_bytes: int = 0
    torn: bool = False


@dataclass(frozen=True)
class Files:
    """The files of one review, all in the folder of the findings file."""

    findings: Path
    first: Path
    journal: Path
    lock: Path

    @classmethod
    def beside(cls, path: Path) -> "Files":
        """The files for a findings file, or for the one in a folder."""
        findings = findings_path(path)
        prefix = "" if findings.stem == "findings" else f"{findings.stem}."
        return cls(
            findings=findings,
            first=findings.with_suffix(".first.json"),
            journal=findings.with_name(f"{prefix}journal.jsonl"),
            lock=findings.with_name(f".{prefix}journal.lock"),
        )


def read_journal(path: Path) -> Journal:
    """Reads a journal; one that is not there is empty.

    Raises ReviewError where the file cannot be read, or a whole line of it is no entry.
    """
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        return Journal()
    except OSError as error:
        raise ReviewError(f"{path}: cannot be read: {error.strerror}") from error
    *lines, rest = content.split(b"\n")
    entries: list[Entry] = []
    for number, line in enumerate(lines, start=1):
        try:
            entry = Entry.model_validate_json(line)
        except ValidationError as error:
            fault = error.errors()[0]["msg"]
            raise ReviewError(f"{path}: line {number} is no decision: {fault}") from error
        if entry.number != number:
            raise ReviewError(f"{path}: line {number} says that it is decision {entry.number}")
        entries.append(entry)
    return Journal(tuple(entries), len(content) - len(rest), torn=bool(rest))


def append(path: Path, journal: Journal, entries: Sequence[Entry]) -> Journal:
    """Adds entries, all or none, and returns only when they are on disk; a torn line goes.

    One entry is written behind the others; several at once replace the file, since a crash could
    otherwise leave some of them.

    Raises ReviewError where they cannot be written; the journal is then as it was.
    """
    lines = b"".join(entry.model_dump_json().encode() + b"\n" for entry in entries)
    try:
        if path.is_symlink():
            raise ReviewError(f"{path}: is a link; put the journal itself beside the findings")
        if len(entries) > 1:
            before = path.read_bytes()[: journal.whole_bytes] if path.exists() else b""
            write_atomically(path, before + lines)
        else:
            _append(path, journal.whole_bytes, lines)
    except OSError as error:
        raise ReviewError(
            f"{path}: the decision cannot be saved: {error.strerror or error}"
        ) from error
    return Journal((*journal.entries, *entries), journal.whole_bytes + len(lines))


def _append(path: Path, whole_bytes: int, line: bytes) -> None:
    new = not path.exists()
    with path.open("ab", buffering=0) as file:
        file.truncate(whole_bytes)
        rest = memoryview(line)
        try:
            while rest:
                rest = rest[file.write(rest) :]
            os.fsync(file.fileno())
        except BaseException:
            with suppress(OSError):
                file.truncate(whole_bytes)
            raise
    if new:
        sync_folder(path.parent)


def replay(first: Record, entries: Iterable[Entry]) -> Record:
    """The record after the entries. Raises ReviewError where an entry does not fit it."""
    return reduce(lambda record, entry: apply(record, entry.changes), entries, first)


def standing(entries: Sequence[Entry]) -> list[Entry]:
    """The decisions that hold: neither taken back nor an undo, oldest first."""
    undone = {entry.decision.number for entry in entries if isinstance(entry.decision, Undo)}
    return [
        entry
        for entry in entries
        if entry.number not in undone and not isinstance(entry.decision, Undo)
    ]
