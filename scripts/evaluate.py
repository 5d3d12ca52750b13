"""Measures Wearword, and a plain baseline beside it, on narrations whose truth is known.

    python scripts/evaluate.py --split check                     recordings, all conditions
    python scripts/evaluate.py --split fit --text --errors       understanding alone
    python scripts/evaluate.py --split fit --split check --captions
    python scripts/evaluate.py --split check --condition clean --limit 4 --html report.html
    python scripts/evaluate.py --split check --only wearword --without repair --without adapter

Needs `pip install -e .[evaluate]`. Recordings are rendered first where they are missing, or older
than their narration (see render.py). Look at single errors of the
split `fit` only: on the others, what is looked at no longer measures.
"""

import json
from collections.abc import Sequence
from functools import partial
from pathlib import Path

import click
from evaluating.ablation import PARTS, without
from evaluating.cases import Case, caption_cases, sound_cases, spread, text_cases
from evaluating.figures import breakdown, summary, to_json
from evaluating.running import SYSTEMS, Outcome, run
from rendering.conditions import NAMES
from rendering.plan import SPLITS
from rich.console import Console
from rich.progress import track

from pipeline.errors import WearwordError

OPEN_SPLIT = "fit"


@click.command()
@click.option("--split", "splits", type=click.Choice(SPLITS), required=True, multiple=True)
@click.option("--text", "mode", flag_value="text", help="Exact text in place of recordings.")
@click.option("--captions", "mode", flag_value="captions", help="Garbled captions instead.")
@click.option("--condition", "conditions", type=click.Choice(NAMES), multiple=True)
@click.option("--limit", type=click.IntRange(1), help="So many of a split at most, spread over it.")
@click.option("--only", type=click.Choice(["wearword", "baseline"]), help="One of the two.")
@click.option("--without", "parts", type=click.Choice(PARTS), multiple=True, help="Also ours so.")
@click.option("--jobs", type=click.IntRange(1), default=2, show_default=True)
@click.option("--errors", is_flag=True, help=f"List every error; for the split {OPEN_SPLIT} only.")
@click.option("--json", "json_path", type=click.Path(path_type=Path), metavar="FILE")
@click.option("--html", "html_path", type=click.Path(path_type=Path), metavar="FILE")
def main(
    *,
    splits: tuple[str, ...],
    mode: str | None,
    conditions: tuple[str, ...],
    limit: int | None,
    only: str | None,
    parts: tuple[str, ...],
    jobs: int,
    errors: bool,
    json_path: Path | None,
    html_path: Path | None,
) -> None:
    """Prints the figures of one or more splits, together and by group."""
    if mode and conditions:
        raise click.UsageError(f"--condition has no use with --{mode}: there is no sound")
    if errors and set(splits) != {OPEN_SPLIT}:
        raise click.UsageError(f"--errors is for --split {OPEN_SPLIT} alone")
    if parts and mode:
        raise click.UsageError(f"--without has no use with --{mode}: there is no sound")
    mode = mode or "sound"
    systems = {name: system for name, system in SYSTEMS[mode].items() if only in (None, name)}
    systems |= {f"without {part}": partial(without, part) for part in parts}
    try:
        cases = [case for split in splits for case in _cases(mode, split, conditions, limit, jobs)]
        running = run(cases, systems, jobs if mode == "sound" else 1)
        outcomes = list(track(running, f"evaluating {mode}", len(cases) * len(systems)))
    except WearwordError as error:
        raise click.ClickException(str(error)) from error
    if not outcomes:
        raise click.ClickException("there is nothing of that sort to evaluate")
    _show(outcomes, errors)
    if json_path:
        json_path.write_text(json.dumps(to_json(outcomes), indent=1) + "\n", "utf-8")
    if html_path:
        from evaluating.report import report  # noqa: PLC0415 (plots need an extra)

        html_path.write_text(report(outcomes, f"{', '.join(splits)}: {mode}"), "utf-8")


def _cases(
    mode: str, split: str, conditions: Sequence[str], limit: int | None, jobs: int
) -> list[Case]:
    if mode == "text":
        return spread(text_cases(split), limit)
    if mode == "captions":
        return spread(caption_cases(split), limit)
    return sound_cases(split, conditions, limit, jobs)


def _show(outcomes: list[Outcome], errors: bool) -> None:
    console = Console(width=150)
    if errors:
        for outcome in outcomes:
            if outcome.system == "wearword":
                for difference in outcome.differences:
                    console.print(f"{outcome.case} {difference}", markup=False, soft_wrap=True)
    console.print(summary(outcomes))
    console.print()
    console.print(breakdown(outcomes))


if __name__ == "__main__":
    main()
