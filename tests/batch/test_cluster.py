"""pipeline/batch/cluster.py: a real Dask cluster of several processes, one of them killed."""

import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from pipeline.batch import cluster
from pipeline.batch.cluster import Cluster
from pipeline.batch.work import Failure, Job, look
from pipeline.errors import BatchError
from pipeline.record import read_record
from pipeline.walkaround import Options
from tests.batch.fakes import HEARD, hearings, recording, run


@pytest.fixture(scope="module")
def scheduler() -> Iterator[str]:
    """The address of a scheduler with three workers, each a process."""
    distributed = pytest.importorskip("distributed", reason="needs the extra 'cluster'")
    with distributed.LocalCluster(
        n_workers=3, threads_per_worker=1, processes=True, dashboard_address=None
    ) as machines:
        yield machines.scheduler_address


def test_a_killed_worker_costs_its_own_recording_only(tmp_path: Path, scheduler: str) -> None:
    names = ["bad", "deadly_once", *(f"slow_{number}" for number in range(6))]
    for number, name in enumerate(names):
        recording(tmp_path / f"{name}.wav", number)
    pool = Cluster(scheduler)
    try:
        report = run(tmp_path, pool)
    finally:
        pool.close()
    assert report.counts == {"failed": 1, "done": 7}
    heard = hearings(tmp_path)
    assert heard.pop("deadly_once") == 2
    assert set(heard.values()) == {1}
    for entry in report.recordings:
        if entry.state == "done":
            assert entry.folder is not None
            assert read_record(Path(entry.folder)).source.sha256 == entry.sha256
    assert len(list(tmp_path.glob("*.walkaround"))) == 7
    pids = {line.split()[1] for line in (tmp_path / HEARD).read_text().splitlines()}
    assert str(os.getpid()) not in pids
    assert len(pids) >= 3


def test_workers_read_urls(tmp_path: Path, scheduler: str) -> None:
    address = recording(tmp_path / "ana" / "a.wav").as_uri()
    pool = Cluster(scheduler)
    try:
        pool.submit(Job(look, address, Options()))
        pool.submit(Job(look, "file:///nowhere/b.wav", Options()))
        given = dict([*pool.finished(20), *pool.finished(20)])
    finally:
        pool.close()
    seen = {job.address: result for job, result in given.items()}
    assert seen[address] == look(address, Options())
    failure = seen["file:///nowhere/b.wav"]
    assert isinstance(failure, Failure)
    assert "cannot be fetched" in failure.reason


def test_another_version_on_a_worker_is_refused(
    scheduler: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cluster, "__version__", "99")
    with pytest.raises(BatchError, match="and not 99"):
        Cluster(scheduler)


def test_no_scheduler_gets_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("distributed", reason="needs the extra 'cluster'")
    monkeypatch.setattr(cluster, "_ANSWER_S", 0.3)
    with pytest.raises(BatchError, match="no Dask scheduler answers"):
        Cluster("tcp://127.0.0.1:9")


def test_without_the_extra_it_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(BatchError, match=r"pip install 'wearword\[cluster\]'"):
        Cluster("tcp://127.0.0.1:9")
