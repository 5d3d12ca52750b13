"""What a worker does with one recording: look at it, and hear it.

A worker is any process that can import this module: one of this machine, or one of a cluster.
"""

import hashlib
import shutil
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import IO

from lexicon.errors import LexiconError
from pipeline.batch.queue import file_name, is_url
from pipeline.errors import MediaError, WearwordError, WeightsError
from pipeline.listen.listeners import Listeners, Listening
from pipeline.listen.media import probe
from pipeline.walkaround import Logged, Options, log_recording

_BLOCK = 2**20

# What file systems and web servers tell of a file that changes when its content does.
_MARKS = ("size", "mtime", "ETag", "LastModified", "Last-Modified", "last_modified", "Content-MD5")


@dataclass(frozen=True)
class Look:
    """A recording's content. `stamp` is another one after every change; None where nothing tells.

    `duration_s` is not known of a recording that was not fetched.
    """

    stamp: str | None
    sha256: str
    duration_s: float | None


@dataclass(frozen=True)
class Told:
    """What was made of a recording, and how many seconds that took, the loading not counted."""

    logged: Logged
    wall_s: float


@dataclass(frozen=True)
class Failure:
    """Why nothing was made of a recording; `for_all` where it would be so with every other."""

    reason: str
    for_all: bool = False


@dataclass(frozen=True)
class Job:
    """Something to be done with a recording by a worker."""

    task: Callable[[str, Options], object]
    address: str
    options: Options


def attempt(job: Job) -> object:
    """What a job's task gives, or a Failure: nothing that is wrong with one recording goes on."""
    try:
        return job.task(job.address, job.options)
    except WeightsError as error:
        return Failure(str(error), for_all=True)
    except (WearwordError, LexiconError) as error:
        return Failure(str(error))
    except MemoryError:
        return Failure(f"{job.address}: there is not enough memory for it")
    except Exception as error:  # whatever a damaged file brings about in a library
        said = (str(error).strip().splitlines() or ["without a word"])[0]
        return Failure(f"{job.address}: {type(error).__name__}: {said}")


def look(address: str, options: Options, known: Look | None = None) -> Look:  # noqa: ARG001
    """The content's digest; taken from an earlier look where the file is as it was then.

    Raises MediaError where the recording cannot be read.
    """
    stamp = _stamp(address)
    if known is not None and stamp is not None and known.stamp == stamp:
        return known
    if not is_url(address):
        info = probe(Path(address))
        return Look(stamp, info.sha256, info.duration_s)
    with _reading(address) as file:
        digest = hashlib.sha256()
        while block := file.read(_BLOCK):
            digest.update(block)
    return Look(stamp, digest.hexdigest(), None)


def hear(address: str, options: Options) -> Told:
    """Hears and reads a recording with the listeners of this process.

    Raises what `log_recording` raises, and MediaError where a URL cannot be fetched.
    """
    began = time.perf_counter()
    with _at_hand(address) as recording:
        logged = log_recording(recording, options, listeners=_listeners(options.listening))
    return Told(logged, time.perf_counter() - began)


@lru_cache(maxsize=1)
def _listeners(listening: Listening) -> Listeners:
    return Listeners(listening)


def _stamp(address: str) -> str | None:
    try:
        if not is_url(address):
            found = Path(address).stat()
            return f"{found.st_size} {found.st_mtime_ns}"
        from fsspec.core import url_to_fs  # noqa: PLC0415 (only for URLs)

        system, path = url_to_fs(address)
        info = system.info(path)
    except Exception:  # whoever reads the recording next says what is wrong
        return None
    marks = [f"{name}={info[name]}" for name in _MARKS if info.get(name) is not None]
    return " ".join(marks) if len(marks) > 1 else None


@contextmanager
def _at_hand(address: str) -> Iterator[Path]:
    """The recording as a local file: itself, or a copy that is deleted afterwards."""
    if not is_url(address):
        yield Path(address)
        return
    with tempfile.TemporaryDirectory(prefix="wearword-") as folder:
        copy = Path(folder) / (file_name(address) or "recording")
        with _reading(address) as source, copy.open("wb") as target:
            shutil.copyfileobj(source, target, _BLOCK)
        yield copy


@contextmanager
def _reading(address: str) -> Iterator[IO[bytes]]:
    try:
        import fsspec  # noqa: PLC0415 (only for URLs)

        with fsspec.open(address, "rb") as file:
            yield file
    except Exception as error:  # each file system and each protocol raises errors of its own make
        said = (str(error).strip().splitlines() or [type(error).__name__])[0]
        raise MediaError(f"{address}: cannot be fetched: {said}") from error
