"""Fitted probabilities: a weighted sum of clues, through the logistic function.

Weights stand in readable files (`data/*.toml`), made by `scripts/fit_confidence.py`.
"""

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

_STEEPEST = 30.0  # beyond it a probability is 0 or 1 to a computer


@dataclass(frozen=True)
class Logistic:
    """The weights of clues by name, and that of no clue at all (`always`)."""

    always: float
    weights: Mapping[str, float]

    def probability(self, clues: Mapping[str, float]) -> float:
        """Between 0 and 1; a clue that is missing counts as 0."""
        total = self.always + sum(
            weight * clues.get(name, 0.0) for name, weight in self.weights.items()
        )
        return 1 / (1 + math.exp(-max(-_STEEPEST, min(_STEEPEST, total))))


@lru_cache
def load_model(file: str, table: str) -> Logistic:
    """The model that stands in a table of one of the data files ("repair", "sound")."""
    source = resources.files("pipeline.weigh") / "data" / f"{file}.toml"
    weights = dict(tomllib.loads(source.read_text("utf-8"))[table])
    return Logistic(weights.pop("always"), weights)
