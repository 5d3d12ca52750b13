"""A reviewer's sitting at one findings file: each decision is on disk before the next is asked.

Order of writing: phrases that were added, the first record once, the journal, the findings file.
Whenever the program is killed in between, the next sitting finds a journal that is at most ahead of
the findings file, and brings the file up to it. A phrase may then be kept whose decision was not.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from filelock import FileLock, Timeout
from pydantic import ValidationError

from pipeline.errors import ReviewError
from pipeline.models import Record, Statement
from pipeline.record import read_record, write_record
from pipeline.review.changes import Change, apply
from pipeline.review.choices import Choices
from pipeline.review.decisions import Decision, Undo, changes_by, read_decisions
from pipeline.review.journal import Entry, Files, Journal, append, read_journal, replay, standing
from pipeline.review.questions import Reason, as_json, open_questions
from pipeline.review.wordbook import Wordbook

Now = Callable[[], datetime]


def utc_now() -> datetime:
    """The time of day in UTC, to the second."""
    return datetime.now(UTC).replace(microsecond=0)


@dataclass
class Sitting:
    """The state of an open review: `record` and `journal` are always what is on disk."""

    files: Files
    record: Record
    journal: Journal
    who: str
    words: Wordbook
    now: Now = utc_now

    @property
    def choices(self) -> Choices:
        """What there is to choose from for the machine of the record."""
        return self.words.choices(self.record.vehicle.kind)

    def understand_text(self, text: str) -> Sequence[Statement]:
        """What a typed sentence states about the machine of the record."""
        return self.words.understand_text(text, self.record.vehicle.kind)

    def decide(self, *decisions: Decision) -> list[Entry]:
        """Makes decisions, all or none, and saves them.

        Raises ReviewError where one does not fit or cannot be saved; nothing has changed then.
        Raises RecordError where only the findings file cannot be written; the next sitting does it.
        """
        record, words, entries = self.record, self.words, list(self.journal.entries)
        for decision in decisions:
            entry = self._entry(record, words, entries, decision)
            record, words = apply(record, entry.changes), words.after(entry.changes)
            entries.append(entry)
        new = entries[len(self.journal.entries) :]
        if not new:
            return []
        self.words = self.words.keep([change for entry in new for change in entry.changes])
        if not self.journal.entries:
            write_record(self.record, self.files.first)
        self.journal = append(self.files.journal, self.journal, new)
        self.record = record
        write_record(self.record, self.files.findings)
        return new

    def _entry(
        self, record: Record, words: Wordbook, entries: Sequence[Entry], decision: Decision
    ) -> Entry:
        if isinstance(decision, Undo):
            undone = _to_undo(entries, decision)
            decision = Undo(number=undone.number)
            changes = [change.reverse for change in reversed(undone.changes)]
        else:
            changes = _changes(record, decision, words)
        return Entry(
            number=len(entries) + 1, by=self.who, at=self.now(), decision=decision, changes=changes
        )


@contextmanager
def open_sitting(
    path: Path,
    *,
    who: str,
    words: Wordbook,
    now: Now = utc_now,
) -> Iterator[Sitting]:
    """Opens a findings file (or the one in a folder) for decisions, for this sitting alone.

    Raises ReviewError where another sitting has it open or where findings and journal do not
    belong together, RecordError where the findings file cannot be read or written.
    """
    files = Files.beside(path)
    read_record(files.findings)  # before the lock, which would leave its file in a wrong folder
    lock = FileLock(files.lock)
    try:
        lock.acquire(timeout=0)
    except Timeout as error:
        raise ReviewError(
            f"{files.findings}: another review of it is open; finish that one first"
        ) from error
    except OSError as error:
        raise ReviewError(f"{files.lock}: cannot be made: {error.strerror or error}") from error
    try:
        on_disk, journal = read_record(files.findings), read_journal(files.journal)
        record = _brought_up(files, on_disk, journal)
        if record is not on_disk:
            write_record(record, files.findings)
        yield Sitting(files, record, journal, who, words, now)
    finally:
        lock.release()


def current_record(path: Path) -> Record:
    """The record with every saved decision, read without opening a sitting.

    Raises RecordError and ReviewError as `open_sitting` does.
    """
    files = Files.beside(path)
    return _brought_up(files, read_record(files.findings), read_journal(files.journal))


def apply_decisions_file(
    path: Path,
    decisions_path: Path,
    *,
    who: str,
    words: Wordbook,
    now: Now = utc_now,
) -> list[Entry]:
    """Makes every decision of a JSON-lines file, all or none.

    Raises ReviewError, with the line where one is at fault, and RecordError.
    """
    try:
        text = decisions_path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise ReviewError(f"{decisions_path}: cannot be read: {error}") from error
    decisions = read_decisions(text, str(decisions_path))
    with open_sitting(path, who=who, words=words, now=now) as sitting:
        return sitting.decide(*decisions)


def list_questions(path: Path, reason: Reason) -> list[dict[str, Any]]:
    """What is open, the most valuable question first, as JSON-ready values.

    Raises RecordError and ReviewError as `open_sitting` does.
    """
    return [as_json(question) for question in open_questions(current_record(path), reason)]


def history(path: Path) -> Journal:
    """The decisions made so far. Raises ReviewError where the journal cannot be read."""
    return read_journal(Files.beside(path).journal)


def _changes(record: Record, decision: Decision, words: Wordbook) -> list[Change]:
    try:
        return changes_by(record, decision, words)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(step) for step in first["loc"])
        raise ReviewError(f"{where}: {first['msg']}") from error


def _to_undo(entries: Sequence[Entry], undo: Undo) -> Entry:
    stand = standing(entries)
    if not stand:
        raise ReviewError("there is no decision to take back")
    if undo.number is None:
        return stand[-1]
    found = next((entry for entry in stand if entry.number == undo.number), None)
    if found is None:
        raise ReviewError(f"decision {undo.number} does not stand, so it cannot be taken back")
    later = [
        entry.number
        for entry in stand
        if entry.number > found.number and entry.touches & found.touches
    ]
    if later:
        raise ReviewError(
            f"decision {later[-1]} was made on top of decision {found.number}; "
            f"take {later[-1]} back first"
        )
    return found


def _brought_up(files: Files, on_disk: Record, journal: Journal) -> Record:
    """The record on disk with the decisions that a crash kept out of it."""
    if not journal.entries:
        return on_disk
    first = read_record(files.first)
    states = list(_states(first, journal.entries))
    for made in reversed(range(len(states))):
        if _settled_part(states[made]) == _settled_part(on_disk):
            missing = journal.entries[made:]
            return replay(on_disk, missing) if missing else on_disk
    raise ReviewError(
        f"{files.findings}: is not what its journal leads to, so it was made anew or edited; "
        f"move {files.journal.name} and {files.first.name} away to start a new review"
    )


def _states(first: Record, entries: Iterable[Entry]) -> Iterator[Record]:
    yield first
    for entry in entries:
        first = apply(first, entry.changes)
        yield first


def _settled_part(record: Record) -> object:
    """What decisions are about; a still is added by a hand-over, whenever that is made."""
    findings = [finding.model_copy(update={"still": None}) for finding in record.findings]
    rest = record.vehicle, record.clean, record.unmentioned, record.lines, record.settings
    return record.source, findings, rest
