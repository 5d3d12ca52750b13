"""Peak memory and time of logging a short and a long recording, each in a process of its own.

    python scripts/bench_memory.py [RECORDING] [--minutes 3 30 180]

The recording (by default the tests' three phrases) is repeated to so many minutes as an MP4 with
AAC sound. What may grow with length is the decoded sound itself, so "rest" is the peak after the
sound's own size is taken off, and the last column compares it with the first line's.
"""

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import av
import numpy as np
from av.audio.frame import AudioFrame
from benchmarking import arguments, show

from pipeline.listen.listeners import Listeners, Listening
from pipeline.listen.media import RATE, read_audio
from pipeline.walkaround import Options, log_recording

DEFAULT = Path(__file__).parent.parent / "samples" / "pellam.mp4"
MIB = 2**20
_SAMPLE_BYTES = 4  # the decoded sound is held as float32


def repeated(recording: Path, minutes: int, target: Path) -> None:
    """Writes the recording's sound, over and over, as an MP4 of that many minutes."""
    samples = (read_audio(recording).samples * 32767).astype(np.int16)

    def frames() -> Iterator[AudioFrame]:
        for start in range(0, minutes * 60 * RATE, RATE):
            block = samples.take(range(start, start + RATE), mode="wrap")
            frame = AudioFrame.from_ndarray(block[None], "s16", "mono")
            frame.sample_rate, frame.pts = RATE, start
            yield frame

    with av.open(str(target), "w") as container:
        stream = container.add_stream("aac", rate=RATE, layout="mono")
        for frame in frames():
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def measure(recording: Path) -> dict[str, float]:
    """Logs a recording in this process: seconds without the loading, peak and sound in bytes."""
    listeners = Listeners(Listening(device="cpu"))
    assert listeners.first
    began = time.perf_counter()
    record = log_recording(recording, Options(), listeners=listeners).record
    return {
        "seconds": time.perf_counter() - began,
        "peak": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024,
        "sound": record.source.duration_s * RATE * _SAMPLE_BYTES,
    }


def main() -> None:
    """Prints the table."""
    parser = arguments(__doc__)
    parser.add_argument("recording", type=Path, nargs="?", default=DEFAULT)
    parser.add_argument("--minutes", type=int, nargs="+", default=[3, 30])
    parser.add_argument("--measure", action="store_true", help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.measure:
        sys.stdout.write(json.dumps(measure(given.recording)))
        return

    rows: dict[str, tuple[float, ...]] = {}
    first = 0.0
    with tempfile.TemporaryDirectory() as folder:
        for minutes in given.minutes:
            target = Path(folder) / f"{minutes}.mp4"
            repeated(given.recording, minutes, target)
            command = [sys.executable, __file__, "--measure", str(target)]
            done = subprocess.run(command, check=True, capture_output=True, text=True)
            found = json.loads(done.stdout)
            rest = found["peak"] - found["sound"]
            first = first or rest
            rows[f"{minutes} minutes"] = (
                found["seconds"],
                found["seconds"] / minutes,
                found["peak"] / MIB,
                found["sound"] / MIB,
                rest / MIB,
                rest / first,
            )
    columns = ("seconds", "s a minute", "peak MiB", "sound MiB", "rest MiB", "rest, to the first")
    show(f"{given.recording.name}, repeated", columns, rows, given.plot)


if __name__ == "__main__":
    main()
