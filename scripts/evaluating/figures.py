"""The outcomes of an evaluation as tables and as JSON, in total and by group."""

from collections.abc import Iterator, Sequence
from functools import reduce
from operator import add
from typing import Any

from rich.table import Table

from evaluating.running import Outcome
from pipeline.score import table
from pipeline.score.scoring import Score

# The chief figures, shown by group: key and short name.
BY_GROUP = {
    "findings_f1": "F1",
    "place": "place",
    "severity": "grade",
    "clean_f1": "clean",
    "unflagged_precision": "unflagged",
    "reviewed_f1": "reviewed",
    "lines_shown": "lines",
    "start_p95_s": "start 95 %",
    "word_error_rate": "words",
    "trade_error_rate": "trade",
    "ece": "ECE",
}


def total(outcomes: Sequence[Outcome]) -> Score:
    """The score of all outcomes together."""
    return reduce(add, (outcome.score for outcome in outcomes))


def pace(outcomes: Sequence[Outcome]) -> dict[str, float]:
    """What a second of sound takes: seconds by the clock (in one process), and of a core's work.

    The first is the real-time factor where nothing else runs; the second holds on a busy machine.
    """
    sound_s = sum(outcome.sound_s for outcome in outcomes)
    return {
        "real_time_factor": sum(outcome.work_s for outcome in outcomes) / sound_s,
        "core_factor": sum(outcome.core_s for outcome in outcomes) / sound_s,
    }


def by_system(outcomes: Sequence[Outcome]) -> dict[str, list[Outcome]]:
    """The outcomes of each system, in the order in which they come."""
    return {name: [o for o in outcomes if o.system == name] for name in _names(outcomes)}


def groups(outcomes: Sequence[Outcome]) -> Iterator[tuple[str, str, list[Outcome]]]:
    """Every label and value of it with more than one value: ("voice", "rms", outcomes)."""
    for label in dict.fromkeys(label for outcome in outcomes for label in outcome.labels):
        values = sorted({o.labels[label] for o in outcomes if label in o.labels})
        for value in values if len(values) > 1 else ():
            yield label, value, [o for o in outcomes if o.labels.get(label) == value]


def summary(outcomes: Sequence[Outcome]) -> Table:
    """All figures of each system, in total, and for quiet and noisy recordings."""
    columns = {}
    for name, own in by_system(outcomes).items():
        columns[name] = own
        for label, value, members in groups(own):
            if label == "noise":
                columns[f"{name}, {value}"] = members
    shown = table.table({name: total(members) for name, members in columns.items()})
    paces = [pace(members) for members in columns.values()]
    for key, name in (("real_time_factor", "real-time factor"), ("core_factor", "core seconds/s")):
        shown.add_row(name, *(table.written(each[key]) for each in paces))
    return shown


def breakdown(outcomes: Sequence[Outcome]) -> Table:
    """The chief figures of each system by group."""
    figures = {figure.key: figure for figure in table.FIGURES}
    shown = Table(show_edge=False, pad_edge=False)
    for name in ("", "", "narrations", *BY_GROUP.values()):
        shown.add_column(name, justify="right" if name else "left", no_wrap=True)
    for label, value, members in groups(outcomes):
        for name, own in by_system(members).items():
            score = total(own)
            row = (table.written(figures[key].of(score)) for key in BY_GROUP)
            shown.add_row(f"{label} {value}", name, str(score.narrations), *row)
    return shown


def to_json(outcomes: Sequence[Outcome]) -> dict[str, Any]:
    """Each system's figures and counts, in total and by group."""
    return {
        name: {
            **pace(own),
            "total": table.to_json(total(own)),
            "groups": [
                {"label": label, "value": value, **table.to_json(total(members))}
                for label, value, members in groups(own)
            ],
        }
        for name, own in by_system(outcomes).items()
    }


def _names(outcomes: Sequence[Outcome]) -> list[str]:
    return list(dict.fromkeys(outcome.system for outcome in outcomes))
