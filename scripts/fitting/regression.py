"""Logistic regression by Newton's method, with weights pulled towards zero."""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from pipeline.weigh.logistic import Logistic

Clues = Mapping[str, float]

_PULL = 1.0  # the inverse variance of a weight before anything is seen; none on `always`
_ROUNDS = 50
_SETTLED = 1e-6


def fit(
    clues: Sequence[Clues], outcomes: Sequence[bool], names: Sequence[str],
    weights: Sequence[float] | None = None,
) -> Logistic:  # fmt: skip
    """The weights of named clues under which the outcomes are likeliest.

    `weights` says how much each case counts. Newton's method on the penalised log-likelihood:
    Hastie, Tibshirani, Friedman, "The Elements of Statistical Learning", 2nd ed., 4.4.1 and 4.4.4.
    """
    x = np.array([[1.0, *(clue.get(name, 0.0) for name in names)] for clue in clues])
    y = np.array(outcomes, dtype=float)
    counts = np.ones(len(y)) if weights is None else np.array(weights)
    pull = _PULL * np.eye(x.shape[1])
    pull[0, 0] = _SETTLED
    beta = np.zeros(x.shape[1])
    for _ in range(_ROUNDS):
        p = _sigmoid(x @ beta)
        slope = x.T @ (counts * (p - y)) + pull @ beta
        curve = (x * (counts * p * (1 - p))[:, np.newaxis]).T @ x + pull
        step = np.linalg.solve(curve, slope)
        beta -= step
        if np.abs(step).max() < _SETTLED:
            break
    always, *rest = (float(value) for value in beta)
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


def _sigmoid(x: NDArray[np.float64]) -> NDArray[np.float64]:
    return 1 / (1 + np.exp(-np.clip(x, -30, 30)))
