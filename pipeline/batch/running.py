"""The batch itself: look at each recording, skip what is done, hear the rest, keep the report.

What is done is told by the findings on disk: they carry the digest of the recording's content and
the settings they were made with. The report remembers where they are, and digests of files that
have not changed since. So a batch that was killed at any point goes on where it was.
"""

import time
from collections import deque
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import AbstractContextManager, closing, contextmanager, suppress
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Protocol

from filelock import FileLock, Timeout

from lexicon.load import load_lexicon
from pipeline import __version__
from pipeline.batch import work
from pipeline.batch.cluster import Cluster
from pipeline.batch.processes import Processes, size_for
from pipeline.batch.queue import Queued, file_name, told_apart
from pipeline.batch.report import Entry, Report, read_report, write_report
from pipeline.batch.work import Failure, Job, Look, Told
from pipeline.errors import BatchError, RecordError, WearwordError
from pipeline.listen.weights import Device
from pipeline.models import Record
from pipeline.record import FILE_NAME, read_record
from pipeline.review.questions import open_questions
from pipeline.walkaround import Options, save, settings_of
from pipeline.weigh.flags import GLANCE_COST

_WAIT_S = 0.5
_REPORT_EVERY_S = 1.0
_REPORT_SHARE = 0.05  # of the time at most goes into writing the report, however long it gets
_RECENT = 20  # recordings that the estimate goes by


class Pool(Protocol):
    """Workers: processes of this machine, or those of a cluster."""

    @property
    def free(self) -> int:
        """How many more jobs could be begun at once."""

    def submit(self, job: Job) -> None:
        """Begins a job."""

    def finished(self, timeout_s: float) -> list[tuple[Job, object]]:
        """What jobs have given since the last call; waits for the first, but not for ever."""

    def close(self) -> None:
        """Calls off whatever has not ended."""


@dataclass(frozen=True)
class Status:
    """How far a batch is: what ended since the last one, and seconds left where it can be told."""

    ended: tuple[Entry, ...]
    settled: int
    total: int
    left_s: float | None


Watch = Callable[[Status], None]
Hear = Callable[[str, Options], Told]


def unwatched(status: Status) -> None:
    """A watch for callers that show nothing."""


def open_pool(
    scheduler: str | None = None,
    workers: int | None = None,
    ceiling: int | None = None,
    device: Device = "auto",
) -> AbstractContextManager[Pool]:
    """The workers of a Dask scheduler, or else as many processes as this machine has room for.

    `ceiling` is in bytes. Raises BatchError where the scheduler cannot be used or the ceiling is
    too low.
    """
    if scheduler is not None:
        return closing(Cluster(scheduler))
    return closing(Processes(size_for(workers, ceiling, device)))


def run_batch(
    queue: Sequence[Queued],
    options: Options,
    pool: Pool,
    report_file: Path,
    *,
    watch: Watch = unwatched,
    hear: Hear = work.hear,
) -> Report:
    """Hears every recording of a queue that is not done yet, and saves its findings.

    One that fails is named in the report and stops no other. Raises BatchError where another batch
    is at work on the same report or no recording can be heard, LexiconError where the lexicon is
    wrong, RecordError where the report cannot be written.
    """
    load_lexicon(options.kind or "motorcycle", options.lexicon)  # a fault in it would meet all
    options = _absolute(options)
    with _alone(report_file):
        batch = _Batch(queue, options, pool, report_file, watch=watch, hear=hear)
        try:
            batch.run()
        finally:
            batch.write()
        return batch.report


def is_made_with(record: Record, options: Options) -> bool:
    """Whether a record was made with these options by this version of the program.

    What was learned since, by corrections or in a shop's own words, makes no record undone, and a
    kind put right in review no other: both are for the next recordings.
    """
    kind, basis = record.vehicle.kind, record.vehicle.kind_basis
    if basis != "reviewed" and options.kind != (kind if basis == "given" else None):
        return False
    settings = settings_of(load_lexicon(kind), options.listening)
    made = settings.model_dump(exclude={"thresholds", "shop_lexicon", "learned"})
    known = record.settings
    if known.thresholds.get("glance_cost", GLANCE_COST) != options.glance_cost:
        return False
    return made.items() <= known.model_dump().items()


def _absolute(options: Options) -> Options:
    """The options for workers that may stand in another folder."""
    heard_by = options.listening
    return replace(
        options,
        listening=replace(
            heard_by,
            speech_model=heard_by.speech_model and _absolute_path(heard_by.speech_model),
            second_model=heard_by.second_model and _absolute_path(heard_by.second_model),
            adapter=heard_by.adapter and _absolute_path(heard_by.adapter),
        ),
    )


def _absolute_path(name: str) -> str:
    """A name may also be that of a file or folder."""
    path = Path(name).expanduser()
    return str(path.absolute()) if path.exists() else name


class _Batch:
    """A batch in progress. Only this process writes: workers give what they made back to it."""

    def __init__(
        self,
        queue: Sequence[Queued],
        options: Options,
        pool: Pool,
        report_file: Path,
        *,
        watch: Watch,
        hear: Hear,
    ) -> None:
        self.options, self.pool, self.watch, self.hear = options, pool, watch, hear
        self.file = report_file
        earlier = read_report(report_file)
        self.known = {entry.recording: entry for entry in (earlier.all_entries if earlier else ())}
        self.folders = _folders(self.known.values())
        self.queued = {queued.address: queued for queued in queue}
        self.entries = {address: self._entry(address) for address in self.queued}
        self.report = Report(
            program_version=__version__,
            kind=options.kind,
            lexicon=options.lexicon and options.lexicon.name,
            speech_model=options.listening.first_name,
            started_at=_now(),
            recordings=list(self.entries.values()),
            earlier=[
                e for e in self.known.values() if e.folder and e.recording not in self.entries
            ],
        )
        self.first_of: dict[str, str] = {}  # digest -> the recording of this batch that has it
        self.to_look = deque(self.queued)
        self.to_hear: deque[str] = deque()
        self.begun: dict[str, float] = {}
        self.recent: deque[tuple[float, float]] = deque(maxlen=_RECENT)  # sound and wall, seconds
        self.next_writing = 0.0

    def _entry(self, address: str) -> Entry:
        """What is known of a recording at the start: a batch that is killed must not forget it."""
        known = self.known.get(address, Entry(recording=address))
        wanted = {"recording", "stamp", "sha256", "duration_s", "folder"}
        return Entry(**known.model_dump(include=wanted))

    def run(self) -> None:
        self.write()  # before the first hour of work, not after it
        while self.to_look or self.to_hear or self.begun:
            for _ in range(self.pool.free):
                if (job := self._next()) is None:
                    break
                self.begun[job.address] = time.monotonic()
                self.pool.submit(job)
            ended = [self._take(job, result) for job, result in self.pool.finished(_WAIT_S)]
            if time.monotonic() > self.next_writing:
                self.write()
            self.watch(self._status([entry for entry in ended if entry.state != "waiting"]))
        self.report.ended_at = _now()

    def write(self) -> None:
        began = time.monotonic()
        write_report(self.report, self.file)
        now = time.monotonic()
        self.next_writing = now + max(_REPORT_EVERY_S, (now - began) / _REPORT_SHARE)

    def _next(self) -> Job | None:
        """Hearing comes first, so that looking never runs far ahead of it."""
        if self.to_hear:
            return Job(self.hear, self.to_hear.popleft(), self.options)
        if self.to_look:
            address = self.to_look.popleft()
            entry = self.entries[address]
            known = entry.sha256 and Look(entry.stamp, entry.sha256, entry.duration_s)
            return Job(partial(work.look, known=known or None), address, self.options)
        return None

    def _take(self, job: Job, result: object) -> Entry:
        entry = self.entries[job.address]
        del self.begun[job.address]
        match result:
            case Look():
                self._looked(entry, result)
            case Told():
                self._told(entry, result)
            case Failure(reason=reason, for_all=True):
                raise BatchError(reason)
            case Failure(reason=reason):
                entry.state, entry.error = "failed", reason
        return entry

    def _looked(self, entry: Entry, look: Look) -> None:
        if look.sha256 != entry.sha256:
            entry.folder = None
        entry.stamp, entry.sha256, entry.duration_s = look.stamp, look.sha256, look.duration_s
        first = self.first_of.setdefault(look.sha256, entry.recording)
        if first != entry.recording:
            entry.state, entry.copy_of = "copy", first
        elif found := self._done_already(self.queued[entry.recording], look.sha256):
            _describe(entry, *found)
            entry.state = "skipped"
        else:
            self.to_hear.append(entry.recording)

    def _done_already(self, queued: Queued, sha256: str) -> tuple[Path, Record] | None:
        for folder in [*self.folders.get(sha256, ()), *_numbered(queued)]:
            with suppress(RecordError):
                record = read_record(folder)
                if record.source.sha256 == sha256 and is_made_with(record, self.options):
                    return folder, record
        return None

    def _told(self, entry: Entry, told: Told) -> None:
        record = told.logged.record
        try:
            saved = save(record, _own_folder(self.queued[entry.recording]))
        except WearwordError as error:
            entry.state, entry.error = "failed", str(error)
            return
        _describe(entry, saved.folder, record)
        entry.state = "done"
        entry.wall_s = round(told.wall_s, 2)
        entry.notices = list(told.logged.notices)
        self.recent.append((record.source.duration_s, told.wall_s))

    def _status(self, ended: Sequence[Entry]) -> Status:
        settled = sum(entry.state != "waiting" for entry in self.entries.values())
        return Status(tuple(ended), settled, len(self.entries), self._left_s())

    def _left_s(self) -> float | None:
        now = time.monotonic()
        known = [entry.duration_s for entry in self.entries.values() if entry.duration_s]
        usual_s = sum(known) / len(known) if known else 0.0
        return left_s(
            self.recent,
            [
                (entry.duration_s or usual_s, now - self.begun.get(entry.recording, now))
                for entry in self.entries.values()
                if entry.state == "waiting"
            ],
            workers=len(self.begun),
        )


def left_s(
    recent: Collection[tuple[float, float]],
    waiting: Collection[tuple[float, float]],
    workers: int,
) -> float | None:
    """Seconds until a batch ends, None as long as nothing tells the pace.

    `recent`: sound in seconds and what it took one worker, of recordings that were heard lately.
    `waiting`: sound in seconds and how long it has been worked on, of those that were not yet.

    >>> left_s([(100, 10)], [(200, 5), (400, 0)], workers=2)
    40.0
    """
    if not waiting:
        return 0.0
    sound_s = sum(sound_s for sound_s, _ in recent)
    if not sound_s:
        return None
    pace = sum(wall_s for _, wall_s in recent) / sound_s
    needed_s = [max(0.0, pace * sound_s - worked_s) for sound_s, worked_s in waiting]
    # The last long recording keeps one worker busy, however many there are.
    return max(sum(needed_s) / max(1, workers), *needed_s)


def _folders(entries: Collection[Entry]) -> dict[str, list[Path]]:
    """Where the findings of each digest have been."""
    folders: dict[str, list[Path]] = {}
    for entry in entries:
        if entry.sha256 and entry.folder:
            folders.setdefault(entry.sha256, []).append(Path(entry.folder))
    return folders


def _describe(entry: Entry, folder: Path, record: Record) -> None:
    entry.folder = str(folder)
    entry.sha256 = record.source.sha256  # a file may have grown since it was looked at
    entry.duration_s = record.source.duration_s
    entry.findings = sum(finding.status != "struck" for finding in record.findings)
    entry.to_settle = len(open_questions(record, str))


def _numbered(queued: Queued) -> Iterator[Path]:
    """The folders that findings of a recording may be in, beside those a reviewer has touched."""
    for folder in (queued.folder, told_apart(queued.folder, queued.address)):
        numbered, number = folder, 2
        while (numbered / FILE_NAME).exists():
            yield numbered
            numbered = folder.with_name(f"{folder.name}-{number}")
            number += 1


def _own_folder(queued: Queued) -> Path:
    """The folder to save to: never one that holds the findings of a file of another name."""
    with suppress(RecordError):
        if read_record(queued.folder).source.file_name != file_name(queued.address):
            return told_apart(queued.folder, queued.address)
    return queued.folder


@contextmanager
def _alone(report_file: Path) -> Iterator[None]:
    lock = FileLock(report_file.with_name(f".{report_file.name}.lock"))
    try:
        report_file.parent.mkdir(parents=True, exist_ok=True)
        lock.acquire(timeout=0)
    except Timeout as error:
        raise BatchError(f"{report_file}: another batch is at work on it") from error
    except OSError as error:
        raise BatchError(f"{report_file}: cannot be written: {error.strerror or error}") from error
    try:
        yield
    finally:
        lock.release()


def _now() -> datetime:
    return datetime.now(UTC).replace(microsecond=0)
