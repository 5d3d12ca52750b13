"""What the benchmarks share: times taken side by side, a table with bars, the same as a plot."""

import argparse
import time
from collections.abc import Callable, Mapping
from pathlib import Path

from rich.console import Console
from rich.table import Table

_BAR = 30  # characters of the longest bar


def best_of(rounds: int, tasks: Mapping[str, Callable[[], object]]) -> dict[str, float]:
    """The least wall time of each task in seconds; a round does all of them, one after the other.

    What else the machine does then falls on all alike, and the least time is the one it spoils
    least.
    """
    times: dict[str, list[float]] = {name: [] for name in tasks}
    for _ in range(rounds):
        for name, task in tasks.items():
            began = time.perf_counter()
            task()
            times[name].append(time.perf_counter() - began)
    return {name: min(taken) for name, taken in times.items()}


def arguments(description: str) -> argparse.ArgumentParser:
    """A parser with what every benchmark takes."""
    parser = argparse.ArgumentParser(description=description.splitlines()[0])
    parser.add_argument("--plot", type=Path, metavar="FILE.svg", help="also draw the last column")
    return parser


def show(
    title: str, columns: tuple[str, ...], rows: Mapping[str, tuple[float, ...]], plot: Path | None
) -> None:
    """Prints figures by name, with a bar for the last column, and draws those bars to a file."""
    table = Table(title=title, title_justify="left", box=None, pad_edge=False)
    table.add_column("", no_wrap=True)
    for column in columns:
        table.add_column(column, justify="right", no_wrap=True)
    table.add_column("", no_wrap=True)
    most = max(figures[-1] for figures in rows.values())
    for name, figures in rows.items():
        bar = "█" * max(1, round(_BAR * figures[-1] / most)) if most else ""
        table.add_row(name, *(f"{figure:.3g}" for figure in figures), bar)
    Console(width=130).print(table)
    if plot is not None:
        _draw(title, columns[-1], {name: figures[-1] for name, figures in rows.items()}, plot)


def _draw(title: str, column: str, bars: Mapping[str, float], plot: Path) -> None:
    import matplotlib as mpl  # noqa: PLC0415 (an extra)
    from matplotlib.figure import Figure  # noqa: PLC0415

    mpl.rcParams["svg.hashsalt"] = "wearword"  # the same bars make the same file
    figure = Figure(figsize=(7, 0.6 + 0.32 * len(bars)), layout="constrained")
    axes = figure.add_subplot()
    drawn = axes.barh([name.strip() for name in bars], list(bars.values()), color="#4a6a8a")
    axes.bar_label(drawn, fmt="%.3g", padding=3)
    axes.invert_yaxis()
    axes.set(title=title, xlabel=column)
    axes.spines[["top", "right"]].set_visible(False)
    axes.margins(x=0.12)
    plot.parent.mkdir(parents=True, exist_ok=True)
    figure.savefig(plot, metadata={"Date": None})
