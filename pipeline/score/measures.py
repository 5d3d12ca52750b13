"""Counts that can be added, and the ratios they stand for: nobody averages averages.

A ratio is None where there was nothing to measure.
"""

from bisect import bisect_left
from dataclasses import dataclass

import numpy as np

BINS = 10


@dataclass(frozen=True)
class Share:
    """So many of so many."""

    count: int = 0
    total: int = 0

    def __add__(self, other: "Share") -> "Share":
        return Share(self.count + other.count, self.total + other.total)

    @property
    def ratio(self) -> float | None:
        """From 0 to 1; of errors per word it can pass 1."""
        return self.count / self.total if self.total else None


@dataclass(frozen=True)
class Tally:
    """Things stated against things true: found rightly, stated wrongly, missed."""

    right: int = 0
    wrong: int = 0
    missed: int = 0

    def __add__(self, other: "Tally") -> "Tally":
        return Tally(self.right + other.right, self.wrong + other.wrong, self.missed + other.missed)

    @property
    def precision(self) -> float | None:
        """The share of what is stated that is right."""
        return Share(self.right, self.right + self.wrong).ratio

    @property
    def recall(self) -> float | None:
        """The share of what is true that was found."""
        return Share(self.right, self.right + self.missed).ratio

    @property
    def f1(self) -> float | None:
        """The harmonic mean of precision and recall."""
        return Share(2 * self.right, 2 * self.right + self.wrong + self.missed).ratio


@dataclass(frozen=True)
class Spread:
    """Measured values, all kept, since quantiles cannot be added."""

    values: tuple[float, ...] = ()

    def __add__(self, other: "Spread") -> "Spread":
        return Spread(self.values + other.values)

    def quantile(self, share: float) -> float | None:
        """The value that so large a share of the values stays below, between values by rule of
        three; 0.5 is the median."""
        return float(np.quantile(self.values, share)) if self.values else None


@dataclass(frozen=True)
class Bin:
    """Predictions of like confidence: their mean confidence, the share right, how many."""

    confidence: float
    accuracy: float
    count: int


@dataclass(frozen=True)
class Promises:
    """Predictions as (confidence from 0 to 1, whether it came true)."""

    made: tuple[tuple[float, bool], ...] = ()

    def __add__(self, other: "Promises") -> "Promises":
        return Promises(self.made + other.made)

    def curve(self, bins: int = BINS) -> list[Bin]:
        """The reliability curve: bins of equal width, open below and closed above; none empty."""
        edges = [(i + 1) / bins for i in range(bins)]
        filled: dict[int, list[tuple[float, bool]]] = {}
        for promise in self.made:
            filled.setdefault(bisect_left(edges, promise[0]), []).append(promise)
        return [_bin(filled[i]) for i in sorted(filled)]

    def ece(self, bins: int = BINS) -> float | None:
        """Expected calibration error: sum of |B|/n x |accuracy(B) - mean confidence(B)|.

        Guo, Pleiss, Sun, Weinberger, "On Calibration of Modern Neural Networks", ICML 2017, eq. 3.
        """
        if not self.made:
            return None
        gaps = (abs(b.accuracy - b.confidence) * b.count for b in self.curve(bins))
        return sum(gaps) / len(self.made)

    def mce(self, bins: int = BINS) -> float | None:
        """Maximum calibration error: the largest gap of a bin (same source, eq. 5)."""
        return max((abs(b.accuracy - b.confidence) for b in self.curve(bins)), default=None)

    def brier(self) -> float | None:
        """Brier score: the mean of (confidence - outcome) squared; 0 best, 1 worst."""
        if not self.made:
            return None
        return sum((sure - came_true) ** 2 for sure, came_true in self.made) / len(self.made)


def _bin(promises: list[tuple[float, bool]]) -> Bin:
    count = len(promises)
    return Bin(
        sum(sure for sure, _ in promises) / count,
        sum(came_true for _, came_true in promises) / count,
        count,
    )
