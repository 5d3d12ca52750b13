"""Fits how sure to be of a finding, and that no flaw was missed in a line."""

from collections.abc import Sequence
from typing import NamedTuple

import click

from fitting.material import Heard
from fitting.regression import Clues, fit, held_out
from lexicon.load import Lexicon, load_lexicon
from pipeline.logistic import SOME, Logistic
from pipeline.models import Finding, Record, Settings, Source
from pipeline.score.measures import Promises
from pipeline.score.scoring import match_findings
from pipeline.score.timing import when
from pipeline.understand.reading import understand
from pipeline.weigh.flags import GLANCE_COST, STATEMENT_REASONS
from pipeline.weigh.repair import repair
from pipeline.weigh.weighing import weigh

FINDING = (
    "doubt", "worst", "worst_beside", "hard",
    "length", "misspelt", "repaired", "repair_doubt", "rival", "margin",
    "inherited", "denial", "doubtful_line", "speaker_unsure", "unknown_part", "impossible_pair",
    "side_contradiction", "reference_to_unheard", "strange", "crowded", "weak_link",
    "untold", "unlinked", "rival_part", "unusual", "part_slot", "unlikely",
)  # fmt: skip
LINE = (
    "doubt", "worst", "hard", "stray_flaw", "stray_part", "stray_grade", "stray_size", "near_miss",
    "stated", "called_clean", "denial", "doubtful_line", "asked",
    "unstated", "telling", "flaw_slot", "part_slot", "unlikely",
)  # fmt: skip
# Those of which a little may tell more than the rest: each weighs twice.
_GRADUAL = (
    "doubt", "worst", "worst_beside", "misspelt", "repair_doubt", "rival", "untold", "unlinked",
    "rival_part", "unusual", "part_slot", "flaw_slot", "unlikely", "unstated", "telling", "strange",
    "crowded", "weak_link", "near_miss",
)  # fmt: skip
_COSTS = (0.05, 0.08, 0.1, 0.12, 0.15, 0.2, 0.3)


class Outcome(NamedTuple):
    """The clues of a finding or line, whether all was well with it, and its narration."""

    clues: Clues
    well: bool
    group: str


def fit_confidence(title: str, heard: Sequence[Heard]) -> tuple[Logistic, Logistic]:
    """The models of findings, which are right or not, and of lines, in which flaws were missed.

    A line that has a flagged finding is looked at anyway: its model learns from the others.
    """
    weighed = [(one, _record(one)) for one in heard]
    matched = [match_findings(one.truth, record) for one, record in weighed]
    findings: list[Outcome] = []
    for (one, record), matching in zip(weighed, matched, strict=True):
        right = {id(finding) for _, finding in matching.pairs}
        findings += [
            Outcome(finding.evidence, id(finding) in right, one.narration)
            for finding in record.findings
        ]
    model = _fit_outcomes(f"findings of {title}", findings, FINDING)
    lines: list[Outcome] = []
    for (one, record), matching in zip(weighed, matched, strict=True):
        missed = [when(flaw) for flaw in matching.missed]
        seen = {finding.line_id for finding in record.findings if _is_flagged(finding, model)}
        lines += [
            Outcome(
                line.evidence,
                not any(flaw.overlap_s(line.interval) > 0 for flaw in missed),
                one.narration,
            )
            for line in record.lines
            if line.status != "unheard" and line.id not in seen
        ]
    return model, _fit_outcomes(f"lines of {title}", lines, LINE)


def _record(one: Heard) -> Record:
    lexicon = load_lexicon(one.truth.kind)
    repaired = repair(one.transcript, lexicon, one.judge)
    meant = understand(repaired, one.truth.kind)
    return weigh(repaired, meant, lexicon, _source(one), _settings(lexicon))


def _is_flagged(finding: Finding, model: Logistic) -> bool:
    """Whether a finding is flagged at the usual price of a glance, or for what was said."""
    unsure = model.probability(finding.evidence) < 1 - GLANCE_COST
    return unsure or not STATEMENT_REASONS.keys().isdisjoint(finding.flags)


def _fit_outcomes(title: str, outcomes: Sequence[Outcome], clues: Sequence[str]) -> Logistic:
    clues = (*clues, *(SOME + clue for clue in _GRADUAL if clue in clues))
    own = [outcome.clues for outcome in outcomes]
    well = [outcome.well for outcome in outcomes]
    unseen = held_out(own, well, clues, [outcome.group for outcome in outcomes])
    _print_costs(title, list(zip(unseen, well, strict=True)))
    model = fit(own, well, clues)
    click.echo(", ".join(f"{clue} {weight:.2f}" for clue, weight in model.weights.items()))
    return model


def _print_costs(title: str, cases: Sequence[tuple[float, bool]]) -> None:
    """What would be flagged at each price of a glance."""
    promises = Promises(tuple(cases))
    errors = sum(not well for _, well in cases)
    click.echo(f"\n{title}: {len(cases)}, {errors} not well, ECE {promises.ece():.3f}")
    click.echo("a glance costs, share flagged, of the errors flagged, of the rest well")
    for cost in _COSTS:
        flagged = [well for p, well in cases if p < 1 - cost]
        rest = [well for p, well in cases if p >= 1 - cost]
        found = (len(flagged) - sum(flagged)) / errors if errors else 1.0
        well = sum(rest) / len(rest) if rest else 1.0
        click.echo(f"{cost:5} {len(flagged) / len(cases):7.3f} {found:7.3f} {well:7.3f}")


def _source(one: Heard) -> Source:
    return Source(
        file_name=one.name,
        sha256="0" * 64,
        duration_s=one.transcript.duration_s,
        has_video=False,
        transcript_origin=one.transcript.origin,
    )


def _settings(lexicon: Lexicon) -> Settings:
    return Settings(program_version="fit", lexicon=lexicon.kind, lexicon_version=lexicon.version)
