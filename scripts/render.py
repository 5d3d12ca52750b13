"""Speaks the narrations of a split into recordings with their truth.

    python scripts/render.py --split check
    python scripts/render.py --split fit --only fit-moto-03 --jobs 1

Reads tests/narrations/<split>/*.toml; writes rendered/<split>/<narration>.<condition>.ogg and a
.json truth beside it. Sentences already spoken are kept in rendered/sentences. Needs the
synthesisers: `pip install wearword[render]` and Debian's flite and espeak-ng.
"""

from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import click
from rendering.conditions import recorded
from rendering.encode import write_sound
from rendering.plan import SPLITS, Rendering, plan
from rendering.recital import recite
from rich.progress import track

from pipeline.errors import WearwordError
from pipeline.score.truth import read_truth

ROOT = Path(__file__).resolve().parents[1]
RENDERED = ROOT / "rendered"


@click.command()
@click.option("--split", type=click.Choice(SPLITS), required=True)
@click.option("--only", help="Id of one narration, such as check-moto-03.")
@click.option("--jobs", type=click.IntRange(1), default=2, show_default=True)
def main(split: str, only: str | None, jobs: int) -> None:
    """Renders a split, or one narration of it."""
    narrations = [path.stem for path in (ROOT / "tests" / "narrations" / split).glob("*.toml")]
    todo = [item for item in plan(split, narrations) if only in (None, item.narration)]
    if not todo:
        raise click.ClickException(f"no narration '{only or '*'}' in tests/narrations/{split}")
    if only is None:
        _clear(RENDERED / split, {item.name for item in todo})
    try:
        with ProcessPoolExecutor(jobs, get_context("spawn")) as pool:
            for _ in track(pool.map(render, todo), f"rendering {split}", len(todo)):
                pass
    except WearwordError as error:
        raise click.ClickException(str(error)) from error


def render(item: Rendering) -> None:
    """Writes one recording and its truth."""
    source = ROOT / "tests" / "narrations" / item.voice.split / f"{item.narration}.toml"
    folder = RENDERED / item.voice.split
    folder.mkdir(parents=True, exist_ok=True)
    recital = recite(read_truth(source), item.voice, item.rate, RENDERED / "sentences")
    write_sound(folder / f"{item.name}.ogg", recorded(recital.speech, item.condition, item.seed))
    truth = recital.truth.model_copy(update={"condition": item.condition})
    text = truth.model_dump_json(indent=1, exclude_none=True)
    (folder / f"{item.name}.json").write_text(text + "\n", "utf-8")


def _clear(folder: Path, kept: set[str]) -> None:
    """Removes what an earlier plan made and this one does not."""
    for path in folder.glob("*"):
        if path.stem not in kept:
            path.unlink()


if __name__ == "__main__":
    main()
