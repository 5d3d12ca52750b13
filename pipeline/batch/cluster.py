"""Workers of a Dask cluster (the extra `cluster`): each hears one recording at a time.

A worker has the program installed and reaches the recordings by the same paths or URLs. One that
is killed costs its own recording only: the scheduler has it done by another.
"""

import logging
from collections.abc import Callable
from dataclasses import replace
from queue import Empty, SimpleQueue
from threading import Lock
from typing import TYPE_CHECKING, TypeVar

from pipeline import __version__
from pipeline.batch.work import Failure, Job, attempt
from pipeline.errors import BatchError

if TYPE_CHECKING:
    from distributed import Future

_Answer = TypeVar("_Answer")

_ANSWER_S = 10
_LOST = ("cancelled", "lost")

_one_recording = Lock()  # the program's parts are used by one thread of a process at a time


class Cluster:
    """A pool made of the workers that a scheduler has at the time."""

    def __init__(self, scheduler: str) -> None:
        try:
            from distributed import Client  # noqa: PLC0415 (an extra)
        except ImportError as error:
            raise BatchError(
                "--scheduler needs Dask; run: pip install 'wearword[cluster]'"
            ) from error
        for name in ("distributed", "distributed.client"):  # what counts we say ourselves
            logging.getLogger(name).setLevel(logging.CRITICAL)
        self._scheduler = scheduler
        self._jobs: dict[Future, Job] = {}
        self._ended: SimpleQueue[Future] = SimpleQueue()
        try:
            self._client = Client(scheduler, timeout=_ANSWER_S, set_as_default=False)
        except (OSError, ValueError) as error:
            raise BatchError(f"{scheduler}: no Dask scheduler answers there") from error
        try:
            self._check_workers()
        except BatchError:
            self._client.close()
            raise

    @property
    def free(self) -> int:
        """How many more jobs could be begun at once: each worker has one at a time.

        Raises BatchError where the scheduler is gone.
        """
        return len(self._ask(self._client.nthreads)) - len(self._jobs)

    def submit(self, job: Job) -> None:
        """Begins a job on some worker."""
        future = self._client.submit(_attempt_here, job, pure=False)
        self._jobs[future] = job
        future.add_done_callback(self._ended.put)

    def finished(self, timeout_s: float) -> list[tuple[Job, object]]:
        """What jobs have given since the last call; waits for the first, but not for ever.

        Raises BatchError where the scheduler is gone.
        """
        try:
            future = self._ended.get(timeout=timeout_s)
        except Empty:
            if any(future.status in _LOST for future in self._jobs):
                raise self._gone() from None
            return []
        job = self._jobs.pop(future)
        return [(job, self._result(future, job))]

    def close(self) -> None:
        """Calls off what has not ended, and leaves the cluster as it is."""
        self._client.cancel(list(self._jobs))
        self._client.close()

    def _result(self, future: "Future", job: Job) -> object:
        if future.status == "finished":
            return future.result()
        if future.status in _LOST:
            raise self._gone()
        said = type(future.exception()).__name__  # KilledWorker, after several workers
        return Failure(f"{job.address}: no worker could finish it ({said}); is memory short?")

    def _check_workers(self) -> None:
        """The same program must run everywhere: a record says which version made it."""
        try:
            versions = self._client.run(_version)
        except Exception as error:  # whatever keeps a worker from importing us
            raise BatchError(
                f"{self._scheduler}: a worker there cannot run wearword {__version__}; install it"
            ) from error
        if not versions:
            raise BatchError(
                f"{self._scheduler}: has no workers; start some: dask worker {self._scheduler}"
            )
        for worker, version in versions.items():
            if version != __version__:
                raise BatchError(f"{worker}: has wearword {version}, and not {__version__}")

    def _ask(self, question: Callable[[], _Answer]) -> _Answer:
        try:
            return question()
        except OSError as error:
            raise self._gone() from error

    def _gone(self) -> BatchError:
        return BatchError(f"{self._scheduler}: the scheduler is gone; begin again to go on")


def _version() -> str:
    return __version__


def _attempt_here(job: Job) -> object:
    """A job done by this worker, with as many threads as the worker was given."""
    from distributed import get_worker  # noqa: PLC0415 (an extra)

    options = job.options.on_threads(get_worker().state.nthreads)
    with _one_recording:
        return attempt(replace(job, options=options))
