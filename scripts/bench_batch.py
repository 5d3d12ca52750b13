"""How many recordings an hour a batch gets through, against the number of workers.

    python scripts/bench_batch.py [RECORDING] [--copies 8] [--workers 1 2] [--dask 4]

The recording is copied, each copy with a little more silence behind it, so that none is skipped as
being the same. Each line is a batch of all copies from its start to its end, new processes and the
loading of the weights included. `--dask 0` leaves the cluster out (it needs the extra `cluster`).
"""

import tempfile
import time
import wave
from contextlib import closing
from pathlib import Path

import numpy as np
from benchmarking import arguments, show

from pipeline.batch.cluster import Cluster
from pipeline.batch.processes import Processes, Size, size_for
from pipeline.batch.queue import read_queue
from pipeline.batch.running import Pool, run_batch
from pipeline.listen.media import RATE, read_audio
from pipeline.walkaround import Options

DEFAULT = Path(__file__).parent.parent / "samples" / "pellam.mp4"


def copies(recording: Path, number: int, folder: Path) -> float:
    """Writes WAV files with the recording's sound; returns the seconds of sound in all."""
    samples = (read_audio(recording).samples * 32767).astype(np.int16)
    for copy in range(number):
        with wave.open(str(folder / f"{copy:03}.wav"), "wb") as file:
            file.setparams((1, 2, RATE, 0, "NONE", ""))
            file.writeframes(samples.tobytes() + bytes(2 * copy))
    return number * len(samples) / RATE


def wall_s(pool: Pool, recordings: Path, out: Path) -> float:
    """Seconds that a batch of all recordings takes."""
    began = time.perf_counter()
    report = run_batch(read_queue(recordings, out), Options(), pool, out / "report.json")
    taken = time.perf_counter() - began
    if report.counts != {"done": len(report.recordings)}:
        raise SystemExit(f"not all were done: {report.counts}")
    return taken


def main() -> None:
    """Prints the table."""
    parser = arguments(__doc__)
    parser.add_argument("recording", type=Path, nargs="?", default=DEFAULT)
    parser.add_argument("--copies", type=int, default=8)
    parser.add_argument("--workers", type=int, nargs="+", default=[1, 2])
    parser.add_argument("--dask", type=int, default=4, help="workers of a Dask cluster")
    given = parser.parse_args()
    times: dict[str, float] = {}
    with tempfile.TemporaryDirectory() as scratch:
        recordings = Path(scratch) / "recordings"
        recordings.mkdir()
        sound_s = copies(given.recording, given.copies, recordings)
        for workers in given.workers:
            size = Size(workers, size_for(workers).threads, ceiling=10**12)
            with closing(Processes(size)) as pool:
                name = f"{workers} processes of {size.threads} threads"
                times[name] = wall_s(pool, recordings, Path(scratch) / f"processes{workers}")
        if given.dask:
            from distributed import LocalCluster  # noqa: PLC0415 (an extra)

            began = time.perf_counter()
            with (
                LocalCluster(n_workers=given.dask, threads_per_worker=1) as machines,
                closing(Cluster(machines.scheduler_address)) as pool,
            ):
                wall_s(pool, recordings, Path(scratch) / "dask")
                times[f"{given.dask} Dask workers of 1 thread"] = time.perf_counter() - began
    first = next(iter(times.values()))
    show(
        f"{given.copies} recordings, {sound_s / 60:.0f} minutes of sound",
        ("seconds", "recordings an hour", "to the first"),
        {name: (s, 3600 * given.copies / s, first / s) for name, s in times.items()},
        given.plot,
    )


if __name__ == "__main__":
    main()
