"""What a reviewer is shown, and what he can put right by it: the flagged findings and lines."""

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.models import Finding, Line
from pipeline.score.matching import Matching, match
from pipeline.score.measures import Share, Tally
from pipeline.score.timing import when
from pipeline.score.truth import TrueFinding
from pipeline.times import Interval

NEAR_S = 1.0

Findings = Matching[TrueFinding, Finding]


@dataclass(frozen=True)
class Shown:
    """The flagged findings and lines of a record."""

    findings: list[Finding]
    lines: list[Line]

    def near(self, spoken: Interval) -> bool:
        """Whether anything flagged is spoken within a second of a stretch."""
        flagged: list[Finding | Line] = [*self.findings, *self.lines]
        return any(spoken.gap_s(other.interval) <= NEAR_S for other in flagged)


def shown(findings: Sequence[Finding], lines: Sequence[Line]) -> Shown:
    """What is flagged: findings of that status; lines that are doubtful, unheard or have flags."""
    return Shown(
        [finding for finding in findings if finding.status == "flagged"],
        [line for line in lines if line.status != "heard" or line.flags],
    )


def errors_shown(matching: Findings, flagged: Shown) -> Share:
    """Of the errors (wrong findings and missed flaws), those with anything flagged near them."""
    spoken = [finding.interval for finding in matching.wrong]
    spoken += [when(flaw) for flaw in matching.missed]
    return Share(sum(flagged.near(interval) for interval in spoken), len(spoken))


def lines_shown(lines: Sequence[Line], flagged: Shown) -> Share:
    """Of the lines, those that are flagged or have a flagged finding in them."""
    ids = {line.id for line in flagged.lines} | {finding.line_id for finding in flagged.findings}
    return Share(sum(line.id in ids for line in lines), len(lines))


def reviewed(matching: Findings, flagged: Shown) -> Tally:
    """The findings once a reviewer who sees only what is flagged has put that right.

    A flagged wrong finding is turned into a missed flaw that it overlaps, or struck; every missed
    flaw in a flagged line is found.
    """
    shown_wrong = [finding for finding in matching.wrong if finding.status == "flagged"]
    unheard = [
        flaw
        for flaw in matching.missed
        if not any(when(flaw).overlap_s(line.interval) for line in flagged.lines)
    ]
    corrected = match(unheard, shown_wrong, _overlap_cost)
    missed = len(corrected.missed)
    return Tally(
        right=len(matching.pairs) + len(matching.missed) - missed,
        wrong=len(matching.wrong) - len(shown_wrong),
        missed=missed,
    )


def _overlap_cost(flaw: TrueFinding, finding: Finding) -> tuple[float] | None:
    overlap_s = when(flaw).overlap_s(finding.interval)
    return (-overlap_s,) if overlap_s else None
