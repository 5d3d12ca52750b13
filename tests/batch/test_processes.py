"""pipeline/batch/processes.py: real worker processes, killed, and held under a memory ceiling."""

import os
import signal
import subprocess
import sys
import time
from contextlib import closing
from multiprocessing import Pipe
from pathlib import Path
from typing import ClassVar

import psutil
import pytest

from pipeline.batch import processes, work
from pipeline.batch.processes import GB, Processes, Size, size_for
from pipeline.batch.work import Failure, Job
from pipeline.errors import BatchError
from pipeline.walkaround import Options
from tests.batch.fakes import HEARD, hearings, recording, run
from tests.conftest import ROOT

PLENTY = 10**12
ROOM = 10 * GB


class Puppet:
    """A worker without a process: the test says what it needs, answers, and how it ends."""

    made: ClassVar[list["Puppet"]] = []

    def __init__(self) -> None:
        self.pipe, self.other = Pipe()
        self.task: processes._Task | None = None
        self.stopped = False
        self.made.append(self)

    def begin(self, task: processes._Task) -> None:
        self.task = task

    def memory(self) -> int:
        return int(self.task.job.address) * GB if self.task else 0

    def stop(self) -> None:
        self.stopped = True
        self.pipe.close()


@pytest.fixture
def pool(monkeypatch: pytest.MonkeyPatch) -> Processes:
    """A pool of two puppets; an address is the memory that its recording takes, in GB."""
    monkeypatch.setattr(processes, "_Worker", Puppet)
    monkeypatch.setattr(Puppet, "made", [])
    return Processes(Size(workers=2, threads=1, ceiling=ROOM))


def job(address: str) -> Job:
    return Job(work.hear, address, Options())


def given(pool: Processes) -> dict[str, object]:
    return {job.address: result for job, result in pool.finished(0)}


def test_a_worker_takes_one_job_after_the_other(pool: Processes) -> None:
    pool.submit(job("1"))
    assert pool.free == 1
    (worker,) = Puppet.made
    worker.other.send("one")
    assert given(pool) == {"1": "one"}
    pool.submit(job("2"))
    assert Puppet.made == [worker]
    assert worker.task is not None
    assert worker.task.job.options.listening.threads == 1


def test_a_job_is_begun_again_once_when_its_worker_is_killed(pool: Processes) -> None:
    pool.submit(job("1"))
    Puppet.made[0].other.close()
    assert given(pool) == {}
    assert pool.free == 1
    Puppet.made[1].other.close()
    failure = given(pool)["1"]
    assert isinstance(failure, Failure)
    assert "killed 2 times" in failure.reason
    assert pool.free == 2


def test_over_the_ceiling_the_largest_waits_until_it_is_alone(pool: Processes) -> None:
    pool.submit(job("3"))
    pool.submit(job("8"))
    small, large = Puppet.made
    assert given(pool) == {}
    assert (small.stopped, large.stopped) == (False, True)
    assert pool.free == 0
    small.other.send("small")
    assert given(pool) == {"3": "small"}
    assert given(pool) == {}
    assert small.task is not None
    assert small.task.job.address == "8"
    assert pool.free == 0
    small.other.send("large")
    assert given(pool) == {"8": "large"}
    assert pool.free == 2


def test_what_needs_more_than_the_ceiling_alone_fails(pool: Processes) -> None:
    pool.submit(job("11"))
    failure = given(pool)["11"]
    assert isinstance(failure, Failure)
    assert "needs more memory than 10.0 GB" in failure.reason
    assert "--memory" in failure.reason


def test_an_idle_worker_goes_before_a_busy_one(
    pool: Processes, monkeypatch: pytest.MonkeyPatch
) -> None:
    pool.submit(job("3"))
    pool.submit(job("5"))
    idle, busy = Puppet.made
    idle.other.send("done")
    monkeypatch.setattr(Puppet, "memory", lambda _worker: 6 * GB)
    assert given(pool) == {"3": "done"}
    assert (idle.stopped, busy.stopped) == (True, False)


def test_a_killed_process_costs_its_own_recording_only(tmp_path: Path) -> None:
    for number, name in enumerate(("a", "b", "deadly_once", "slow"), start=1):
        recording(tmp_path / f"{name}.wav", number)
    with closing(Processes(Size(workers=2, threads=1, ceiling=PLENTY))) as pool:
        report = run(tmp_path, pool)
    assert report.counts == {"done": 4}
    assert hearings(tmp_path) == {"a": 1, "b": 1, "deadly_once": 2, "slow": 1}
    pids = {line.split()[1] for line in (tmp_path / HEARD).read_text().splitlines()}
    assert str(os.getpid()) not in pids
    assert len(pids) > 1


def test_a_killed_batch_leaves_no_worker_and_goes_on(tmp_path: Path) -> None:
    names = [f"slow_{number}" for number in range(6)]
    for number, name in enumerate(names):
        recording(tmp_path / f"{name}.wav", number)
    batch = subprocess.Popen([sys.executable, "-m", "tests.batch.fakes", str(tmp_path)], cwd=ROOT)
    while not hearings(tmp_path):
        assert batch.poll() is None
        time.sleep(0.02)
    workers = psutil.Process(batch.pid).children(recursive=True)
    batch.send_signal(signal.SIGKILL)
    batch.wait()
    _, alive = psutil.wait_procs(workers, timeout=30)
    assert not alive
    report = run(tmp_path)
    assert sum(report.counts.get(state, 0) for state in ("done", "skipped")) == len(names)
    assert sum(hearings(tmp_path).values()) <= len(names) + 2  # those that the two were busy with


@pytest.mark.parametrize(
    ("cores", "available", "asked", "expected"),
    [
        (8, 100 * GB, (None, None), Size(8, 1, 80 * GB)),
        (8, 6 * GB, (None, None), Size(4, 2, 48 * GB // 10)),
        (8, GB // 2, (None, None), Size(1, 8, 4 * GB // 10)),
        (8, 100 * GB, (2, None), Size(2, 4, 80 * GB)),
        (8, 100 * GB, (None, 4 * GB), Size(3, 2, 4 * GB)),
        (2, 100 * GB, (4, None), Size(4, 1, 80 * GB)),
    ],
)
def test_the_machine_sets_the_size(
    monkeypatch: pytest.MonkeyPatch,
    cores: int,
    available: int,
    asked: tuple[int | None, int | None],
    expected: Size,
) -> None:
    memory = psutil.virtual_memory()._replace(available=available)
    monkeypatch.setattr(psutil, "virtual_memory", lambda: memory)
    monkeypatch.setattr(os, "sched_getaffinity", lambda _pid: set(range(cores)), raising=False)
    assert size_for(*asked) == expected


def test_few_workers_share_a_card(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "sched_getaffinity", lambda _pid: set(range(8)), raising=False)
    monkeypatch.setattr("ctranslate2.get_cuda_device_count", lambda: 1)
    ceiling = 100 * GB
    assert size_for(None, ceiling, "auto") == Size(2, 4, ceiling)
    assert size_for(5, ceiling, "cuda") == Size(5, 1, ceiling)
    assert size_for(None, ceiling, "cpu") == Size(8, 1, ceiling)


@pytest.mark.parametrize(("workers", "ceiling"), [(None, GB // 2), (4, 3 * GB)])
def test_a_ceiling_that_is_too_low(workers: int | None, ceiling: int) -> None:
    with pytest.raises(BatchError, match=r"--memory .* is too little"):
        size_for(workers, ceiling)
