"""Small recordings, a stand-in for hearing them that is quick and can be made to fail, and a pool.

python -m tests.batch.fakes FOLDER    a batch with two worker processes, for a test to kill
"""

import os
import signal
import sys
import time
import wave
from pathlib import Path

from lexicon.load import load_lexicon
from pipeline.batch.processes import Processes, Size
from pipeline.batch.queue import read_queue
from pipeline.batch.report import Report
from pipeline.batch.running import Pool, Watch, run_batch, unwatched
from pipeline.batch.work import Job, Told, attempt
from pipeline.errors import MediaError, WeightsError
from pipeline.listen.media import digest
from pipeline.models import Source, Vehicle
from pipeline.walkaround import Logged, Options, settings_of
from tests.review.records import record

HEARD = "heard.txt"
OPTIONS = Options()


def recording(path: Path, number: int = 1, seconds: float = 0.1) -> Path:
    """A WAV file with a content of its own for each number."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(8000)
        file.writeframes(number.to_bytes(2, "little") * int(8000 * seconds))
    return path


def hear(address: str, options: Options) -> Told:
    """A record as if heard. The file's name may ask for worse; each hearing is noted on disk.

    "slow" takes a while, "bad" cannot be read, "deadly" kills the process, "deadly_once" does so
    the first time, "weightless" finds no weights.
    """
    path = Path(address)
    with (path.parent / HEARD).open("a") as notes:
        notes.write(f"{path.stem} {os.getpid()}\n")
    if "slow" in path.stem:
        time.sleep(0.2)
    if "bad" in path.stem:
        raise MediaError(f"{path}: is bad")
    if "weightless" in path.stem:
        raise WeightsError("the speech weights are not installed")
    if "deadly" in path.stem and ("once" not in path.stem or hearings(path.parent)[path.stem] < 2):
        os.kill(os.getpid(), signal.SIGKILL)
    kind = options.kind or "motorcycle"
    made = record(
        source=Source(
            file_name=path.name,
            sha256=digest(path),
            duration_s=60.0,
            has_video=False,
            transcript_origin="recogniser",
        ),
        vehicle=Vehicle(kind=kind, kind_basis="given" if options.kind else "talk"),
        settings=settings_of(load_lexicon(kind), options.listening, options.learned),
    )
    return Told(Logged(made, ("a notice",)), 1.5)


def hearings(folder: Path) -> dict[str, int]:
    """How often each recording was heard, by its stem."""
    notes = folder / HEARD
    stems = [line.split()[0] for line in notes.read_text().splitlines()] if notes.exists() else []
    return {stem: stems.count(stem) for stem in stems}


class Inline:
    """A pool that does its jobs in this very process, two at a time."""

    def __init__(self) -> None:
        self._jobs: list[Job] = []

    @property
    def free(self) -> int:
        """How many more jobs could be begun."""
        return 2 - len(self._jobs)

    def submit(self, job: Job) -> None:
        """Takes a job."""
        self._jobs.append(job)

    def finished(self, timeout_s: float) -> list[tuple[Job, object]]:  # noqa: ARG002
        """Does the first job."""
        job = self._jobs.pop(0)
        return [(job, attempt(job))]

    def close(self) -> None:
        """Nothing is left behind."""


def run(
    source: Path,
    pool: Pool | None = None,
    options: Options = OPTIONS,
    *,
    out: Path | None = None,
    watch: Watch = unwatched,
) -> Report:
    """A batch over a folder or list, with the stand-in."""
    folder = out or (source if source.is_dir() else source.parent)
    return run_batch(
        read_queue(source, out), options, pool or Inline(), folder / "report.json",
        watch=watch, hear=hear,
    )  # fmt: skip


if __name__ == "__main__":
    workers = Processes(Size(workers=2, threads=1, ceiling=10**12))
    run(Path(sys.argv[1]), workers)
