"""pipeline/score/table.py: figures for people and for programs."""

import io
import json

from rich.console import Console

from pipeline.score.scoring import score
from pipeline.score.table import FIGURES, table, to_json, written
from tests.score.narration import perfect_record, truth

PERFECT = score(truth(), perfect_record())


def test_figures_have_keys_and_names_of_their_own() -> None:
    assert len({figure.key for figure in FIGURES}) == len(FIGURES)
    assert len({figure.name for figure in FIGURES}) == len(FIGURES)


def test_the_table_has_a_column_for_each_score() -> None:
    console = Console(file=io.StringIO(), width=100)
    console.print(table({"ours": PERFECT, "twice": PERFECT + PERFECT}))
    assert isinstance(console.file, io.StringIO)
    rows = [row.replace("│", " ").split() for row in console.file.getvalue().splitlines()]
    assert ["narrations", "1", "2"] in rows
    assert ["flaws", "stated", "5", "10"] in rows
    assert ["findings", "F1", "1.000", "1.000"] in rows
    assert ["errors", "flagged", "-", "-"] in rows


def test_json_holds_figures_counts_and_the_reliability_curve() -> None:
    data = to_json(PERFECT)
    assert json.loads(json.dumps(data)) == data
    assert data["figures"].keys() == {figure.key for figure in FIGURES}
    assert data["counts"]["findings"] == {"right": 5, "wrong": 0, "missed": 0}
    assert data["reliability"] == [{"confidence": 1.0, "accuracy": 1.0, "count": 5}]


def test_no_figure_is_a_dash() -> None:
    assert (written(None), written(0.0), written(0.98765)) == ("-", "0.000", "0.988")
