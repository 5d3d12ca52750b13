"""Logistic regression with weights pulled towards zero, and the files its models stand in."""

import json
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.sparse import csr_array

from pipeline.logistic import SOME, Logistic, some

Clues = Mapping[str, float]

_PULL = 1.0  # the inverse variance of a weight before anything is seen; none on `always`


def fit(
    clues: Sequence[Clues], outcomes: Sequence[bool], names: Sequence[str],
    weights: Sequence[float] | None = None,
) -> Logistic:  # fmt: skip
    """The weights of named clues under which the outcomes are likeliest.

    `weights` says how much each case counts. The penalised log-likelihood of Hastie, Tibshirani,
    Friedman, "The Elements of Statistical Learning", 2nd ed., 4.4.1 and 4.4.4.
    """
    x = _table(clues, names)
    y = np.array(outcomes, dtype=float)
    counts = np.ones(len(y)) if weights is None else np.array(weights)

    def loss(beta: NDArray[np.float64]) -> tuple[float, NDArray[np.float64]]:
        odds = beta[0] + x @ beta[1:]
        unexpected = counts * (1 / (1 + np.exp(-np.clip(odds, -30, 30))) - y)
        value = counts @ (np.logaddexp(0, odds) - y * odds) + _PULL / 2 * beta[1:] @ beta[1:]
        return value, np.array([unexpected.sum(), *(x.T @ unexpected + _PULL * beta[1:])])

    start = np.zeros(len(names) + 1)
    found = minimize(loss, start, jac=True, method="L-BFGS-B", options={"maxiter": 10_000})
    always, *rest = (float(value) for value in found.x)
    return Logistic(always, dict(zip(names, rest, strict=True)))


def held_out(
    clues: Sequence[Clues], outcomes: Sequence[bool], names: Sequence[str],
    groups: Sequence[str], weights: Sequence[float] | None = None,
) -> list[float]:  # fmt: skip
    """Each case's probability by a model that has seen no case of its group."""
    counts = [1.0] * len(outcomes) if weights is None else list(weights)
    found = [0.0] * len(outcomes)
    for group in sorted(set(groups)):
        seen = [at for at, own in enumerate(groups) if own != group]
        model = fit(
            [clues[at] for at in seen], [outcomes[at] for at in seen], names,
            [counts[at] for at in seen],
        )  # fmt: skip
        for at, own in enumerate(groups):
            if own == group:
                found[at] = model.probability(clues[at])
    return found


def write(file: Path, script: str, models: Mapping[str, Logistic]) -> None:
    """Writes models as TOML that `pipeline.logistic` reads, the weightiest clues first."""
    lines = [f"# Weights of clues in log odds, made by scripts/{script}: not to be edited."]
    for name, model in models.items():
        lines += ["", f"[{name}]", f"always = {model.always:.3f}"]
        ordered = sorted(model.weights.items(), key=lambda item: (-abs(item[1]), item[0]))
        lines += [f"{_key(clue)} = {weight:.3f}" for clue, weight in ordered]
    file.write_text("\n".join(lines) + "\n", "utf-8")


def write_counts(file: Path, script: str, counts: Mapping[str, Mapping[str, int]]) -> None:
    """Writes counts as TOML that `pipeline.logistic` reads, in the order of their names."""
    lines = [f"# Counts, made by scripts/{script}: not to be edited."]
    for name, own in sorted(counts.items()):
        lines += ["", f"[{name}]", *(f"{_key(of)} = {own[of]}" for of in sorted(own))]
    file.write_text("\n".join(lines) + "\n", "utf-8")


def _key(clue: str) -> str:
    return clue if clue.replace("_", "").isalnum() and clue.isascii() else json.dumps(clue)


def _table(clues: Sequence[Clues], names: Sequence[str]) -> csr_array:
    """A row for each case, a column for each name, as `Logistic.probability` reads clues."""
    column = {name: at for at, name in enumerate(names)}
    known = [
        (row, column[weighed], amount)
        for row, case in enumerate(clues)
        for name, value in case.items()
        for weighed, amount in ((name, value), (SOME + name, some(value)))
        if weighed in column
    ]
    rows, columns, values = zip(*known, strict=True)
    return csr_array((values, (rows, columns)), shape=(len(clues), len(names)))
