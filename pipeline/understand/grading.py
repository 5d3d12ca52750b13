"""The grade of a flaw: from what was said of it, from a spoken area, or by default.

Grades are 0 to 5 after the convention of ISO 4628-1: 0 none, 5 worst.
"""

from collections.abc import Sequence
from itertools import pairwise
from math import sqrt

from pipeline.models import SeverityBasis

DEFAULT_GRADE = 3
# Grade 3 words ("some", "visible") say little, so any other qualifier beside them wins.
_WORN_THROUGH_GRADE = 5

# Percent of area in the reference pictures of ISO 4628-3:2016 for Ri 1 to Ri 5 (Ri 5: 40 to 50).
_RUST_PICTURES_PCT = (0.05, 0.5, 1.0, 8.0, 40.0)
# Flaked area in percent for ratings 1 to 5 of ISO 4628-5 (from memory).
_FLAKING_PCT = (0.1, 0.3, 1.0, 3.0, 15.0)
_BY_AREA = {
    "rust": _RUST_PICTURES_PCT,
    "corrosion": _RUST_PICTURES_PCT,
    "pitting": _RUST_PICTURES_PCT,
    "blister": _RUST_PICTURES_PCT,
    "flaking": _FLAKING_PCT,
}


def area_grade(defect: str, area_pct: float) -> int | None:
    """The published grade of a spoken area; None for flaws with no such table.

    Between two pictures the nearer on a logarithmic scale is taken (the standards leave that to
    their user), so a grade changes at the geometric mean of two areas.
    """
    pictures = _BY_AREA.get(defect)
    if pictures is None:
        return None
    if area_pct <= 0:
        return 0
    cuts = [sqrt(low * high) for low, high in pairwise(pictures)]
    return 1 + sum(area_pct > cut for cut in cuts)


def grade(
    defect: str, group: str, qualifiers: Sequence[int], area_pct: float | None
) -> tuple[int | None, SeverityBasis]:
    """Grade and basis of a flaw, given the grades of the qualifiers said of it, in order.

    History ("repainted") has none unless one is said.
    """
    telling = [q for q in qualifiers if q != DEFAULT_GRADE]
    if telling:
        return telling[-1], "spoken"
    if qualifiers:
        return (None, "default") if group == "history" else (DEFAULT_GRADE, "spoken")
    if defect == "worn_through":
        return _WORN_THROUGH_GRADE, "spoken"
    if group == "history":
        return None, "default"
    if area_pct is not None and (by_area := area_grade(defect, area_pct)) is not None:
        return by_area, "area"
    return DEFAULT_GRADE, "default"
