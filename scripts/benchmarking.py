"""What the benchmarks share: times taken side by side, and a table with bars."""

import time
from collections.abc import Callable, Mapping

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


def show(title: str, columns: tuple[str, ...], rows: Mapping[str, tuple[float, ...]]) -> None:
    """Prints figures by name, with a bar for the last column."""
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
