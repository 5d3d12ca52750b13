"""Where a record and its truth differ, one line of text for each."""

from collections.abc import Iterator
from typing import NamedTuple

from pipeline.models import Finding, Record
from pipeline.score.matching import Placed
from pipeline.score.scoring import match_clean, match_findings, match_mentions
from pipeline.score.timing import timed, when
from pipeline.score.truth import TrueFinding, Truth
from pipeline.times import clock

_FIELDS = ("position", "side", "severity", "count", "size_mm", "area_pct")


class Difference(NamedTuple):
    """One difference: when (seconds), what sort, and what it is about."""

    start_s: float
    sort: str
    about: str

    def __str__(self) -> str:
        return f"{clock(self.start_s)} {self.sort}: {self.about}"


def differences(truth: Truth, record: Record) -> list[Difference]:
    """All of flaws, second mentions and clean parts that is missed, wrong or other, in time order.

    Raises TruthError where the truth has no times.
    """
    truth = timed(truth)
    return sorted([*_findings(truth, record), *_mentions(truth, record), *_clean(truth, record)])


def _findings(truth: Truth, record: Record) -> Iterator[Difference]:
    matching = match_findings(truth, record)
    for flaw in matching.missed:
        yield Difference(when(flaw).start_s, "missed", f"{_named(flaw)} in '{flaw.phrase}'")
    for finding in matching.wrong:
        yield Difference(finding.start_s, "wrong", f"{_named(finding)} in '{finding.heard}'")
    for flaw, finding in matching.pairs:
        other = [
            f"{name} {getattr(finding, name)} for {getattr(flaw, name)}"
            for name in _FIELDS
            if getattr(finding, name) != getattr(flaw, name)
        ]
        if other:
            about = f"{_named(flaw)}: {', '.join(other)} in '{flaw.phrase}'"
            yield Difference(finding.start_s, "differs", about)


def _mentions(truth: Truth, record: Record) -> Iterator[Difference]:
    matching = match_mentions(truth, record)
    for flaw in matching.missed:
        yield Difference(when(flaw).start_s, "missed mention", f"{_named(flaw)} in '{flaw.phrase}'")
    for finding, mention in matching.wrong:
        yield Difference(
            mention.start_s, "wrong mention", f"{_named(finding)} in '{mention.heard}'"
        )


def _clean(truth: Truth, record: Record) -> Iterator[Difference]:
    matching = match_clean(truth, record)
    for clean, spoken in matching.missed:
        yield Difference(spoken.start_s, "missed clean", f"{_place(clean)} in '{clean.phrase}'")
    for part in matching.wrong:
        yield Difference(part.start_s, "wrong clean", _place(part))


def _named(flaw: TrueFinding | Finding) -> str:
    return f"{_place(flaw)} {flaw.defect}"


def _place(place: Placed) -> str:
    return " ".join(filter(None, (place.side, place.position, place.part)))
