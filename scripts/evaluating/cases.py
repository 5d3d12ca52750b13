"""What can be evaluated: exact text, rendered recordings, garbled captions."""

from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from typing import TypeVar

from render import RENDERED, ROOT, render
from rendering.conditions import QUIET
from rendering.plan import Rendering, plan

from pipeline.score.timing import at_steady_pace
from pipeline.score.truth import Truth, read_truth

T = TypeVar("T")

NARRATIONS = ROOT / "tests" / "narrations"
CAPTIONS = ROOT / "tests" / "captions"


@dataclass(frozen=True)
class Case:
    """One thing to evaluate: its truth, and the file that is read; exact text has none."""

    name: str
    truth: Truth
    file: Path | None = None

    @property
    def labels(self) -> dict[str, str]:
        """What it is counted under."""
        truth = self.truth
        labels: dict[str, str] = {"split": truth.split, "kind": truth.kind}
        if truth.condition is not None and truth.voice is not None:
            labels["noise"] = "quiet" if truth.condition in QUIET else "noisy"
            labels |= {"condition": truth.condition, "voice": truth.voice}
        return labels


def spread(items: Sequence[T], limit: int | None) -> list[T]:
    """So many items at most, spread evenly over them all."""
    count = min(limit or len(items), len(items))
    return [items[i * len(items) // count] for i in range(count)]


def text_cases(split: str) -> list[Case]:
    """The narrations of a split, as if every word of them had been heard."""
    return [
        Case(path.stem, at_steady_pace(read_truth(path)))
        for path in sorted((NARRATIONS / split).glob("*.toml"))
    ]


def caption_cases(split: str) -> list[Case]:
    """The garbled caption files of a split."""
    truths = {path: read_truth(path) for path in sorted(CAPTIONS.glob("*.toml"))}
    return [
        Case(path.stem, truth, next(p for p in CAPTIONS.glob(f"{path.stem}.*") if p != path))
        for path, truth in truths.items()
        if truth.split == split
    ]


def sound_cases(split: str, conditions: Sequence[str], limit: int | None, jobs: int) -> list[Case]:
    """The recordings of a split, all conditions where none is given; rendered where need be."""
    narrations = [path.stem for path in (NARRATIONS / split).glob("*.toml")]
    todo = [
        item for item in plan(split, narrations) if item.condition in conditions or not conditions
    ]
    todo = spread(sorted(todo, key=lambda item: item.name), limit)
    stale = [item for item in todo if _is_stale(split, item)]
    if stale:
        with ProcessPoolExecutor(jobs, get_context("spawn")) as pool:
            list(pool.map(render, stale))
    folder = RENDERED / split
    return [
        Case(item.name, read_truth(folder / f"{item.name}.json"), folder / f"{item.name}.ogg")
        for item in todo
    ]


def _is_stale(split: str, item: Rendering) -> bool:
    """Whether a recording is missing, or older than the narration that it speaks."""
    truth = RENDERED / split / f"{item.name}.json"
    narration = NARRATIONS / split / f"{item.narration}.toml"
    return not truth.exists() or truth.stat().st_mtime < narration.stat().st_mtime
