"""Peak memory of hearing a short and a long recording, each in a process of its own.

    python scripts/bench_memory.py [RECORDING]

The recording (by default the tests' three phrases) is repeated to 3 and to 30 minutes as an MP4
with AAC sound. What may grow with length is the decoded sound itself, so the last column compares
the peaks after the sound's own size is taken off.
"""

import argparse
import json
import resource
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import av
import numpy as np
from av.audio.frame import AudioFrame
from rich.console import Console
from rich.table import Table

from pipeline.listen.hear import listen
from pipeline.listen.media import RATE, read_audio
from pipeline.listen.weights import load_speech_model

MINUTES = (3, 30)
DEFAULT = Path(__file__).parent.parent / "tests" / "listen" / "data" / "phrases.opus"
MIB = 2**20


def repeated(recording: Path, minutes: int, target: Path) -> None:
    """Writes the recording's sound, over and over, as an MP4 of that many minutes."""
    samples = read_audio(recording).samples

    def frames() -> Iterator[AudioFrame]:
        whole = np.resize(samples, minutes * 60 * RATE)
        for start in range(0, len(whole), RATE):
            block = (whole[start : start + RATE] * 32767).astype(np.int16)
            frame = AudioFrame.from_ndarray(block[None], "s16", "mono")
            frame.sample_rate, frame.pts = RATE, start
            yield frame

    with av.open(str(target), "w") as container:
        stream = container.add_stream("aac", rate=RATE, layout="mono")
        for frame in [*frames(), None]:
            container.mux(stream.encode(frame))


def measure(recording: Path) -> dict[str, float]:
    """Hears a recording in this process; peak and sound in bytes, and the words heard."""
    model = load_speech_model(None, "cpu")
    transcript, audio, _ = listen(recording, model)
    return {
        "peak": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024,
        "sound": audio.samples.nbytes,
        "words": sum(len(line.words) for line in transcript.lines),
    }


def main() -> None:
    """Prints the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("recording", type=Path, nargs="?", default=DEFAULT)
    parser.add_argument("--measure", action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.measure:
        sys.stdout.write(json.dumps(measure(options.recording)))
        return

    table = Table("minutes", "words", "peak MiB", "sound MiB", "rest MiB", "rest, to the first")
    first = 0.0
    with tempfile.TemporaryDirectory() as folder:
        for minutes in MINUTES:
            target = Path(folder) / f"{minutes}.mp4"
            repeated(options.recording, minutes, target)
            command = [sys.executable, __file__, "--measure", str(target)]
            done = subprocess.run(command, check=True, capture_output=True, text=True)
            found = json.loads(done.stdout)
            rest = found["peak"] - found["sound"]
            first = first or rest
            table.add_row(
                str(minutes),
                str(found["words"]),
                *(f"{size / MIB:.0f}" for size in (found["peak"], found["sound"], rest)),
                f"{rest / first:.2f}",
            )
    Console().print(table)


if __name__ == "__main__":
    main()
