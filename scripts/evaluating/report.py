"""The figures as one self-contained HTML page: plots and tables."""

import base64
import io
from collections.abc import Sequence

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from rich.console import Console
from rich.table import Table

from evaluating.figures import breakdown, by_system, groups, summary, total
from evaluating.running import Outcome

mpl.rcParams["svg.hashsalt"] = "wearword"  # the same figures give the same file

_PAGE = """<!doctype html>
<html lang="en"><meta charset="utf-8"><title>{title}</title>
<style>body{{font-family:sans-serif;margin:2em;max-width:80em}}pre{{overflow-x:auto}}</style>
<h1>{title}</h1>
<img alt="Findings F1 by group, and reliability of confidence" src="data:image/png;base64,{plots}">
{tables}
</html>
"""


def report(outcomes: Sequence[Outcome], title: str) -> str:
    """The page."""
    tables = "\n".join(_as_html(each) for each in (summary(outcomes), breakdown(outcomes)))
    return _PAGE.format(title=title, plots=_plots(outcomes), tables=tables)


def _plots(outcomes: Sequence[Outcome]) -> str:
    figure = Figure(figsize=(12, 5), layout="constrained")
    by_group, reliability = figure.subplots(1, 2, width_ratios=(2, 1))
    _plot_groups(by_group, outcomes)
    _plot_reliability(reliability, outcomes)
    png = io.BytesIO()
    figure.savefig(png, format="png", dpi=100)
    return base64.b64encode(png.getvalue()).decode("ascii")


def _plot_groups(axes: Axes, outcomes: Sequence[Outcome]) -> None:
    members = {"all": list(outcomes)}
    members |= {f"{label}\n{value}": each for label, value, each in groups(outcomes)}
    systems = list(by_system(outcomes))
    for number, system in enumerate(systems):
        places = [at + number * 0.8 / len(systems) for at in range(len(members))]
        scores = [total(by_system(each)[system]) for each in members.values()]
        axes.bar(places, [s.findings.f1 or 0 for s in scores], 0.8 / len(systems), label=system)
    axes.set_xticks(range(len(members)), list(members), rotation=60, ha="right", fontsize=8)
    axes.set(ylim=(0, 1), title="Findings F1")
    axes.grid(axis="y", alpha=0.3)
    axes.legend(loc="lower right")


def _plot_reliability(axes: Axes, outcomes: Sequence[Outcome]) -> None:
    axes.plot([0, 1], [0, 1], color="grey", linestyle=":")
    for system, own in by_system(outcomes).items():
        curve = total(own).promises.curve()
        points = [point.confidence for point in curve], [point.accuracy for point in curve]
        axes.plot(*points, marker="o", label=system)
    axes.set(xlim=(0, 1.02), ylim=(0, 1.02), xlabel="confidence", ylabel="share right")
    axes.set_title("Reliability")
    axes.legend()


def _as_html(shown: Table) -> str:
    console = Console(record=True, width=150, file=io.StringIO())
    console.print(shown)
    return console.export_html(inline_styles=True, code_format="<pre>{code}</pre>")
