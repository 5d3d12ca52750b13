"""A score as figures: rows of a text table, and JSON. A new figure is a new row of `FIGURES`."""

from collections.abc import Callable, Mapping
from dataclasses import asdict
from typing import Any, NamedTuple

from rich.table import Table

from pipeline.score.scoring import Score


class Figure(NamedTuple):
    """One ratio or measure of a score: its key in JSON, its name, and how it is derived."""

    key: str
    name: str
    of: Callable[[Score], float | None]


FIGURES = (
    Figure("findings_f1", "findings F1", lambda s: s.findings.f1),
    Figure("findings_precision", "  precision", lambda s: s.findings.precision),
    Figure("findings_recall", "  recall", lambda s: s.findings.recall),
    Figure("place", "place right", lambda s: s.place.ratio),
    Figure("severity", "severity right", lambda s: s.severity.ratio),
    Figure("severity_within_one", "  within one", lambda s: s.severity_within_one.ratio),
    Figure("count_f1", "count F1", lambda s: s.count.f1),
    Figure("size_f1", "size F1", lambda s: s.size.f1),
    Figure("area_f1", "area F1", lambda s: s.area.f1),
    Figure("mentions_f1", "second mentions F1", lambda s: s.mentions.f1),
    Figure("clean_f1", "clean parts F1", lambda s: s.clean.f1),
    Figure("wrong_on_clean", "narrations wrong on a clean part", lambda s: s.wrong_on_clean.ratio),
    Figure("in_noise", "findings in noise alone", lambda s: s.in_noise.ratio),
    Figure("kind", "kind right", lambda s: s.kind.ratio),
    Figure("header", "header fields right", lambda s: s.header.ratio),
    Figure("start_median_s", "start error, median (s)", lambda s: s.start_error_s.quantile(0.5)),
    Figure("start_p95_s", "start error, 95 % (s)", lambda s: s.start_error_s.quantile(0.95)),
    Figure("word_error_rate", "word error rate", lambda s: s.words.words.ratio),
    Figure("trade_error_rate", "trade word error rate", lambda s: s.words.trade.ratio),
    Figure("invented_rate", "trade words invented", lambda s: s.words.invented.ratio),
    Figure("unflagged_precision", "precision, unflagged", lambda s: s.unflagged.ratio),
    Figure("errors_shown", "errors flagged", lambda s: s.errors_shown.ratio),
    Figure("lines_shown", "lines flagged", lambda s: s.lines_shown.ratio),
    Figure("unheard_shown", "unheard stretches flagged", lambda s: s.unheard_shown.ratio),
    Figure("reviewed_f1", "findings F1, reviewed", lambda s: s.reviewed.f1),
    Figure("ece", "calibration error (ECE)", lambda s: s.promises.ece()),
    Figure("brier", "Brier score", lambda s: s.promises.brier()),
)


def table(scores: Mapping[str, Score]) -> Table:
    """Figures down, scores across; "-" where there was nothing to measure."""
    shown = Table(show_edge=False, pad_edge=False)
    shown.add_column("")
    for name in scores:
        shown.add_column(name, justify="right")
    shown.add_row("narrations", *(str(score.narrations) for score in scores.values()))
    shown.add_row("flaws stated", *(str(_stated(score)) for score in scores.values()))
    for figure in FIGURES:
        shown.add_row(figure.name, *(written(figure.of(score)) for score in scores.values()))
    return shown


def to_json(score: Score) -> dict[str, Any]:
    """The figures, the counts that they come from, and the reliability curve."""
    counts = asdict(score)
    del counts["promises"], counts["start_error_s"]
    return {
        "figures": {figure.key: figure.of(score) for figure in FIGURES},
        "counts": counts,
        "reliability": [asdict(point) for point in score.promises.curve()],
    }


def _stated(score: Score) -> int:
    return score.findings.right + score.findings.missed


def written(value: float | None) -> str:
    """A figure with three decimals; "-" where there is none."""
    return "-" if value is None else f"{value:.3f}"
