"""Workers of this machine: processes that take one job at a time, under one memory ceiling.

A process that is killed costs only its own job, which is done again once. When all together need
more memory than the ceiling, the largest is stopped and its recording waits until it has the
machine to itself.
"""

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from multiprocessing import connection, get_context, parent_process
from threading import RLock, Thread, current_thread, main_thread

import psutil
from tqdm import tqdm

from pipeline.batch.work import Failure, Job, attempt
from pipeline.errors import BatchError
from pipeline.listen.weights import Device

GB = 10**9
WORKER_BYTES = 1_200_000_000  # what one worker needs at its peak (0.98 GB measured, at 5 minutes)
_SHARE = 0.8  # of the memory that is free, where no ceiling is set
_ON_CARD = 2  # workers where a card recognises: one has it while the other decodes and reads
_TRIES = 2
_GOODBYE_S = 2

_SPAWN = get_context("spawn")  # a fork would copy locks of libraries in whatever state they are


@dataclass(frozen=True)
class Size:
    """How many workers, with how many threads each, and how many bytes for all of them."""

    workers: int
    threads: int
    ceiling: int


def size_for(
    workers: int | None = None, ceiling: int | None = None, device: Device = "cpu"
) -> Size:
    """The size that uses this machine fully: a worker a core, as far as there is memory for them.

    A few share a CUDA card, if `device` allows it and there is one. Raises BatchError where
    `ceiling` (in bytes) is too low for the `workers` asked for, or for any.
    """
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    cores = cores or 1
    given = ceiling
    ceiling = ceiling or int(psutil.virtual_memory().available * _SHARE)
    fitting = ceiling // WORKER_BYTES
    if given is not None and fitting < (workers or 1):
        raise BatchError(
            f"--memory {given / GB:g} is too little for {workers or 1} of --jobs; "
            f"each needs {WORKER_BYTES / GB:g} GB"
        )
    most = _ON_CARD if _has_card(device) else cores
    workers = workers or max(1, min(most, fitting))
    return Size(workers, max(1, cores // workers), ceiling)


def _has_card(device: Device) -> bool:
    if device == "cpu":
        return False
    from ctranslate2 import get_cuda_device_count  # noqa: PLC0415 (only where it may be used)

    return bool(get_cuda_device_count())


@dataclass(frozen=True)
class _Task:
    job: Job
    tries: int = 1
    alone: bool = False


class _Worker:
    """A process, the pipe to it, and what it is busy with."""

    def __init__(self) -> None:
        self.pipe, theirs = _SPAWN.Pipe()
        self.task: _Task | None = None
        self._process = _SPAWN.Process(target=_serve, args=(theirs,), daemon=True)
        with _deaf_to_interrupts():
            self._process.start()
        theirs.close()  # the pipe then ends with the process

    def begin(self, task: _Task) -> None:
        self.task = task
        self.pipe.send(task.job)

    def memory(self) -> int:
        """Bytes that the process holds in memory."""
        try:
            return int(psutil.Process(self._process.pid).memory_info().rss)
        except psutil.Error:
            return 0

    def stop(self) -> None:
        """Ends the process: by a word where it listens, at once where it is busy."""
        if self.task is None:
            with suppress(OSError):
                self.pipe.send(None)
            self._process.join(_GOODBYE_S)
        self._process.kill()
        self._process.join()
        self.pipe.close()


class Processes:
    """A pool of worker processes, each started when it is first needed."""

    def __init__(self, size: Size) -> None:
        self._size = size
        self._workers: list[_Worker] = []
        self._set_aside: list[_Task] = []

    @property
    def free(self) -> int:
        """How many more jobs could be begun at once."""
        busy = [worker.task for worker in self._workers if worker.task]
        if self._set_aside or any(task.alone for task in busy):
            return 0
        return self._size.workers - len(busy)

    def submit(self, job: Job) -> None:
        """Begins a job. There must be a worker free for it."""
        options = job.options.on_threads(self._size.threads)
        self._begin(_Task(replace(job, options=options)))

    def finished(self, timeout_s: float) -> list[tuple[Job, object]]:
        """What jobs have given since the last call; waits for the first, but not for ever."""
        if self._set_aside and not any(worker.task for worker in self._workers):
            self._begin(replace(self._set_aside.pop(), alone=True))
        results: list[tuple[Job, object]] = []
        pipes = {worker.pipe: worker for worker in self._workers if worker.task}
        for pipe in connection.wait(list(pipes), timeout_s):
            worker = pipes[pipe]  # type: ignore[index]
            task, worker.task = worker.task, None
            assert task is not None
            try:
                results.append((task.job, worker.pipe.recv()))
            except (EOFError, OSError):
                self._drop(worker)
                results += self._again(task)
        return results + self._under_ceiling()

    def close(self) -> None:
        """Stops all workers, whatever they are busy with."""
        while self._workers:
            self._drop(self._workers[-1])

    def _begin(self, task: _Task) -> None:
        worker = next((worker for worker in self._workers if not worker.task), None)
        if worker is None:
            worker = _Worker()
            self._workers.append(worker)
        try:
            worker.begin(task)
        except OSError:  # it was killed while it had nothing to do
            self._drop(worker)
            self._begin(task)

    def _drop(self, worker: _Worker) -> None:
        self._workers.remove(worker)
        worker.stop()

    def _again(self, task: _Task) -> list[tuple[Job, object]]:
        if task.tries < _TRIES:
            self._begin(replace(task, tries=task.tries + 1))
            return []
        reason = f"{task.job.address}: its worker was killed {_TRIES} times; is memory short?"
        return [(task.job, Failure(reason))]

    def _under_ceiling(self) -> list[tuple[Job, object]]:
        held = {worker: worker.memory() for worker in self._workers}
        if sum(held.values()) <= self._size.ceiling:
            return []
        idle = [worker for worker in self._workers if not worker.task]
        worker = max(idle or held, key=lambda worker: held[worker])
        self._drop(worker)
        if worker.task is None:
            return []
        if self._workers:
            self._set_aside.append(worker.task)
            return []
        reason = (
            f"{worker.task.job.address}: needs more memory than {self._size.ceiling / GB:.1f} GB; "
            "allow more with --memory"
        )
        return [(worker.task.job, Failure(reason))]


def _serve(pipe: "connection.Connection[object, Job | None]") -> None:
    """The life of a worker: it ends with the process that started it, however that one ends."""
    Thread(target=_end_with_parent, daemon=True).start()
    tqdm.set_lock(RLock())  # the recogniser's; its usual one outlives a process that is killed
    while (job := pipe.recv()) is not None:
        pipe.send(attempt(job))


@contextmanager
def _deaf_to_interrupts() -> Iterator[None]:
    """A process that is begun in here ignores Ctrl-C: it is for the batch, which stops its workers.

    Only the main thread may say so, and only there does Ctrl-C arrive.
    """
    if current_thread() is not main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _end_with_parent() -> None:
    parent = parent_process()
    assert parent is not None
    connection.wait([parent.sentinel])
    os._exit(0)
