"""The step itself: a record against the truth of what was said, as counts that can be added."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from lexicon.load import load_lexicon
from pipeline.models import CleanPart, Finding, Mention, Odometer, Record, Vehicle
from pipeline.record import read_record
from pipeline.score.attention import Findings, errors_shown, lines_shown, reviewed, shown
from pipeline.score.hearing import Heard, heard
from pipeline.score.matching import Cost, Matching, match, nearness, same_place, within
from pipeline.score.measures import Promises, Share, Spread, Tally
from pipeline.score.timing import noise, timed, when
from pipeline.score.truth import TrueClean, TrueFinding, TrueVehicle, Truth, read_truth
from pipeline.times import Interval

# How far an amount may be off, whichever is more: a size by 0.5 mm, a count by nothing.
_OFF_BY, _OFF_BY_SHARE = 0.5, 0.01
_HEADER = ("year", "make", "model", "vin", "stock_number", "odometer", "hours")


@dataclass(frozen=True)
class Score:
    """How good records are; the sum of two speaks of both. A struck finding is none.

    A finding and a true flaw are a pair where part and defect are equal; all else is measured on
    pairs. `wrong_on_clean`: narrations with a wrong finding on a part called clean. `in_noise`: of
    the findings, those spoken where there is only noise. `header`: of the fields that are spoken or
    stated, those that agree. `start_error_s`: seconds between the starts of a finding and of the
    phrase that states it. `unflagged`: of the findings of status clear, those that are right.
    `unheard_shown`: of the stretches nobody could make out, those with anything flagged near them.
    `reviewed`: the findings once a reviewer has put right what is flagged. `promises`: each
    finding's confidence, and whether it is right.
    """

    narrations: int
    findings: Tally
    place: Share
    severity: Share
    severity_within_one: Share
    count: Tally
    size: Tally
    area: Tally
    mentions: Tally
    clean: Tally
    wrong_on_clean: Share
    in_noise: Share
    kind: Share
    header: Share
    start_error_s: Spread
    words: Heard
    unflagged: Share
    errors_shown: Share
    lines_shown: Share
    unheard_shown: Share
    reviewed: Tally
    promises: Promises

    def __add__(self, other: "Score") -> "Score":
        return Score(*(getattr(self, f.name) + getattr(other, f.name) for f in fields(self)))


def score_files(truth_path: Path, findings_path: Path) -> Score:
    """Scores a findings file (or the one in a folder) against a truth file.

    Raises TruthError or RecordError where one of them cannot be read, and TruthError where the
    truth has no times.
    """
    return score(read_truth(truth_path), read_record(findings_path))


def score(truth: Truth, record: Record) -> Score:
    """Scores one narration's record against its truth, which needs times of its sentences.

    Raises TruthError where it has none.
    """
    truth = timed(truth)
    matching = match_findings(truth, record)
    pairs = matching.pairs
    right = {finding.id for _, finding in pairs}
    grades = [(flaw.severity, finding.severity) for flaw, finding in pairs]
    found = stated(record)
    flagged = shown(found, record.lines)
    transcribed = " ".join(word.read for line in record.lines for word in line.words)
    return Score(
        narrations=1,
        findings=_tally(matching),
        place=_share(same_place(flaw, finding) for flaw, finding in pairs),
        severity=_share(true == said for true, said in grades),
        severity_within_one=_share(_within_one(true, said) for true, said in grades),
        count=_amounts((flaw.count, finding.count) for flaw, finding in pairs),
        size=_amounts((flaw.size_mm, finding.size_mm) for flaw, finding in pairs),
        area=_amounts((flaw.area_pct, finding.area_pct) for flaw, finding in pairs),
        mentions=_tally(match_mentions(truth, record)),
        clean=_tally(match_clean(truth, record)),
        wrong_on_clean=_wrong_on_clean(truth, matching),
        in_noise=_in_noise(found, noise(truth)),
        kind=_share([record.vehicle.kind == truth.kind]),
        header=_header(truth.vehicle, record.vehicle),
        start_error_s=Spread(
            tuple(abs(finding.start_s - when(flaw).start_s) for flaw, finding in pairs)
        ),
        words=heard(truth.text, transcribed, load_lexicon(truth.kind)),
        unflagged=_share(finding.id in right for finding in found if finding.status == "clear"),
        errors_shown=errors_shown(matching, flagged),
        lines_shown=lines_shown(record.lines, flagged),
        unheard_shown=_share(flagged.near(when(say)) for say in truth.say if say.unheard),
        reviewed=reviewed(matching, flagged),
        promises=Promises(tuple((finding.confidence, finding.id in right) for finding in found)),
    )


# --- what stands for what -----------------------------------------------------------------------


def stated(record: Record) -> list[Finding]:
    """The findings that the record holds to: all but those struck."""
    return [finding for finding in record.findings if finding.status != "struck"]


def match_findings(truth: Truth, record: Record) -> Findings:
    """Flaws against findings, by part and defect; a flaw spoken of again is no flaw of its own."""
    first = [flaw for say in truth.say for flaw in say.findings if flaw.mention_of is None]
    return match(first, stated(record), lambda flaw, f: _flaw_cost(flaw, f, f.interval))


def match_mentions(truth: Truth, record: Record) -> Matching[TrueFinding, tuple[Finding, Mention]]:
    """Flaws spoken of again against the mentions of findings, by part and defect."""
    again = [flaw for say in truth.say for flaw in say.findings if flaw.mention_of is not None]
    mentions = [(finding, mention) for finding in stated(record) for mention in finding.mentions]
    return match(again, mentions, lambda flaw, m: _flaw_cost(flaw, m[0], m[1].interval))


def match_clean(truth: Truth, record: Record) -> Matching[tuple[TrueClean, Interval], CleanPart]:
    """Parts called clean, with when their sentence is spoken, against those of the record."""
    true = [(clean, when(say)) for say in truth.say for clean in say.clean]
    return match(true, record.clean, _clean_cost)


def _flaw_cost(flaw: TrueFinding, finding: Finding, spoken: Interval) -> Cost | None:
    if (flaw.part, flaw.defect) != (finding.part, finding.defect):
        return None
    return nearness(flaw, when(flaw), finding, spoken)


def _clean_cost(true: tuple[TrueClean, Interval], found: CleanPart) -> Cost | None:
    clean, spoken = true
    return nearness(clean, spoken, found, found.interval) if clean.part == found.part else None


# --- parts of it --------------------------------------------------------------------------------


def _share(outcomes: Iterable[bool]) -> Share:
    known = list(outcomes)
    return Share(sum(known), len(known))


def _tally(matching: Matching[Any, Any]) -> Tally:
    return Tally(len(matching.pairs), len(matching.wrong), len(matching.missed))


def _within_one(true: int | None, said: int | None) -> bool:
    if true is None or said is None:
        return true is said
    return abs(true - said) <= 1


def _amounts(pairs: Iterable[tuple[float | None, float | None]]) -> Tally:
    """Amounts as (true, stated); a wrong one counts as stated wrongly and as missed."""
    known = [(true, said) for true, said in pairs if (true, said) != (None, None)]
    right = sum(
        true is not None
        and said is not None
        and abs(true - said) <= max(_OFF_BY, _OFF_BY_SHARE * true)
        for true, said in known
    )
    return Tally(
        right,
        sum(said is not None for _, said in known) - right,
        sum(true is not None for true, _ in known) - right,
    )


def _wrong_on_clean(truth: Truth, matching: Findings) -> Share:
    clean = [part for say in truth.say for part in say.clean]
    return _share([any(within(finding, clean) for finding in matching.wrong)])


def _in_noise(found: Sequence[Finding], stretches: Sequence[Interval]) -> Share:
    """A finding is in noise where more than half of it is."""
    return _share(
        any(2 * f.interval.overlap_s(stretch) > f.interval.duration_s for stretch in stretches)
        for f in found
    )


def _header(true: TrueVehicle, said: Vehicle) -> Share:
    pairs = [(_plain(getattr(true, name)), _plain(getattr(said, name))) for name in _HEADER]
    return _share(one == other for one, other in pairs if (one, other) != (None, None))


def _plain(value: object) -> object:
    """A header field as compared: "RR-17" is "rr17"."""
    if isinstance(value, str):
        return re.sub(r"[\W_]", "", value.casefold())
    if isinstance(value, Odometer):
        return value.value, value.unit
    return value
