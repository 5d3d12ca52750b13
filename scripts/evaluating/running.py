"""Runs ours and the baseline over cases, each once, and scores what comes out.

Each system imports what it runs when it runs: exact text needs no recogniser.
"""

import os
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING

import baseline

from evaluating.cases import Case
from lexicon.load import load_lexicon
from pipeline.models import Record, Settings, Source, Transcript
from pipeline.score.differences import differences
from pipeline.score.scoring import Score, score
from pipeline.score.timing import exact_transcript

if TYPE_CHECKING:
    from pipeline.listen.listeners import Listeners

# What turns a case into a record, on so many threads.
System = Callable[[Case, int], Record]


@dataclass(frozen=True)
class Outcome:
    """One case by one system: its score, and how long the work took, by the clock and of a core."""

    case: str
    labels: dict[str, str]
    system: str
    score: Score
    differences: list[str]
    sound_s: float
    work_s: float
    core_s: float


def run(cases: Sequence[Case], systems: dict[str, System], jobs: int) -> Iterator[Outcome]:
    """All systems on all cases, `jobs` cases at a time, the cores shared out among them."""
    threads = max(1, (os.cpu_count() or 1) // jobs)
    if jobs == 1:
        for case in cases:
            yield from _outcomes(case, systems, threads)
        return
    with ProcessPoolExecutor(jobs, get_context("spawn")) as pool:
        todo = [pool.submit(_outcomes, case, systems, threads) for case in cases]
        for done in todo:
            yield from done.result()


def _outcomes(case: Case, systems: dict[str, System], threads: int) -> list[Outcome]:
    outcomes = []
    for name, system in systems.items():
        start_s, core_start_s = time.perf_counter(), time.process_time()
        record = system(case, threads)
        work_s, core_s = time.perf_counter() - start_s, time.process_time() - core_start_s
        outcomes.append(
            Outcome(
                case=case.name,
                labels=case.labels,
                system=name,
                score=score(case.truth, record),
                differences=[str(each) for each in differences(case.truth, record)],
                sound_s=record.source.duration_s,
                work_s=work_s,
                core_s=core_s,
            )
        )
    return outcomes


# --- ours ---------------------------------------------------------------------------------------


def ours_on_text(case: Case, _threads: int) -> Record:
    """Understanding and weighing alone; the talk decides the kind."""
    from pipeline.understand.reading import understand  # noqa: PLC0415
    from pipeline.weigh.weighing import weigh  # noqa: PLC0415

    transcript = exact_transcript(case.truth)
    understanding = understand(transcript)
    lexicon = load_lexicon(understanding.vehicle.kind)
    source = Source(
        file_name=case.name,
        sha256="0" * 64,
        duration_s=transcript.duration_s,
        has_video=False,
        transcript_origin=transcript.origin,
    )
    settings = Settings(
        program_version="text", lexicon=lexicon.kind, lexicon_version=lexicon.version
    )
    return weigh(transcript, understanding, lexicon, source, settings)


def ours_on_captions(case: Case, _threads: int) -> Record:
    """As `wearword log --transcript`."""
    from pipeline.walkaround import Options, log_transcript  # noqa: PLC0415

    return log_transcript(_file(case), None, Options()).record


def ours_on_sound(case: Case, threads: int) -> Record:
    """As `wearword log`, by listeners who stay."""
    from pipeline.walkaround import Options, log_recording  # noqa: PLC0415

    return log_recording(_file(case), Options(), listeners=_listeners(threads)).record


@lru_cache
def _listeners(threads: int) -> "Listeners":
    from pipeline.listen.listeners import Listeners, Listening  # noqa: PLC0415

    return Listeners(Listening(device="cpu", threads=threads))


# --- the baseline -------------------------------------------------------------------------------


def baseline_on_text(case: Case, _threads: int) -> Record:
    """The plain reading of the exact text."""
    return _plain(case, exact_transcript(case.truth))


def baseline_on_captions(case: Case, _threads: int) -> Record:
    """The plain reading of the captions."""
    from pipeline.listen.captions import read_captions  # noqa: PLC0415

    return _plain(case, read_captions(_file(case)))


def baseline_on_sound(case: Case, threads: int) -> Record:
    """The usual call of the recogniser, read plainly."""
    return _plain(case, baseline.transcribe(_file(case), threads))


def _plain(case: Case, transcript: Transcript) -> Record:
    return baseline.read(transcript, case.truth.kind, case.name)


def _file(case: Case) -> Path:
    assert case.file is not None
    return case.file


SYSTEMS: dict[str, dict[str, System]] = {
    "text": {"wearword": ours_on_text, "baseline": baseline_on_text},
    "captions": {"wearword": ours_on_captions, "baseline": baseline_on_captions},
    "sound": {"wearword": ours_on_sound, "baseline": baseline_on_sound},
}
