"""Fitted probabilities: a weighted sum of clues, through the logistic function.

Weights stand in readable files (`data/*.toml` of the step that uses them), made by scripts.
A clue may weigh twice: by how much there is of it, and, under the name "some ...", by whether there
is any: the first twentieth often tells more than all the rest.
"""

import math
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

SOME = "some "
_STEEPEST = 30.0  # beyond it a probability is 0 or 1 to a computer
_SOME = 0.05  # of a clue, from which on there is some


@dataclass(frozen=True)
class Logistic:
    """The weights of clues by name, and that of no clue at all (`always`)."""

    always: float
    weights: Mapping[str, float]

    def probability(self, clues: Mapping[str, float]) -> float:
        """Between 0 and 1; a clue that is missing counts as 0, one without a weight not at all."""
        weights, odds = self.weights, self.always
        for name, value in clues.items():
            odds += value * weights.get(name, 0.0) + some(value) * weights.get(SOME + name, 0.0)
        return _probability(odds)

    def probability_of(self, clues: Iterable[str]) -> float:
        """As `probability`, of clues that are there or not, each counted once."""
        weights, odds = self.weights, self.always
        counted: set[str] = set()
        for name in clues:
            if name in weights and name not in counted:
                counted.add(name)
                odds += weights[name]
        return _probability(odds)


def some(value: float) -> float:
    """Whether there is any of a clue: 0 for none of it, 1 from a twentieth on, a straight line
    between."""
    return max(0.0, min(value / _SOME, 1.0))


def _probability(odds: float) -> float:
    return 1 / (1 + math.exp(-max(-_STEEPEST, min(_STEEPEST, odds))))


@lru_cache
def load_model(step: str, file: str, table: str) -> Logistic:
    """The model in a table of one of a step's data files ("weigh", "repair", "sound")."""
    weights = dict(load_tables(step, file)[table])
    return Logistic(weights.pop("always"), weights)


@lru_cache
def load_tables(step: str, file: str) -> dict[str, dict[str, float]]:
    """The numbers of one of a step's data files, by table and name."""
    source = resources.files(f"pipeline.{step}") / "data" / f"{file}.toml"
    return tomllib.loads(source.read_text("utf-8"))


def forget_models() -> None:
    """Has data files read again, after a script has written them."""
    load_model.cache_clear()
    load_tables.cache_clear()
