"""The step itself: what was meant in, findings with confidence and flags out."""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from lexicon.load import Lexicon
from pipeline.models import (
    Finding,
    Line,
    Reading,
    Record,
    Settings,
    Source,
    Statement,
    Transcript,
    Understanding,
)
from pipeline.times import Interval
from pipeline.understand.cautions import caution
from pipeline.weigh.confidence import (
    Clues,
    finding_clues,
    hardness,
    is_heard,
    line_clues,
    names,
    repairs_in,
    rivals,
    sureness,
)
from pipeline.weigh.flags import GLANCE_COST, cost_in, finding_flags, line_flags


def weigh(
    transcript: Transcript,
    understanding: Understanding,
    lexicon: Lexicon,
    source: Source,
    settings: Settings,
    *,
    glance_cost: float = GLANCE_COST,
) -> Record:
    """The record of a walkaround, in the order in which its flaws are spoken of.

    `glance_cost`: what a reviewer's look at a finding or line costs, as a share of what an error
    that nobody looked at does, 0 to 1. The dearer a look, the less is flagged; in a noisy recording
    an error is worth more.
    """
    ordered = sorted(understanding.statements, key=lambda s: (s.interval.start_s, s.interval.end_s))
    scales = _Scales(is_heard(transcript), hardness(transcript), cost_in(source, glance_cost))
    return Record(
        source=source,
        vehicle=understanding.vehicle,
        findings=[
            _finding(
                number,
                statement,
                _lines_of(statement.basis_interval, transcript.lines),
                lexicon,
                scales,
            )
            for number, statement in enumerate(ordered, 1)
        ],
        clean=understanding.clean,
        unmentioned=understanding.unmentioned,
        lines=list(_lines(transcript, understanding, lexicon, scales)),
        settings=settings.model_copy(update={"thresholds": {"glance_cost": glance_cost}}),
    )


class _Scales(NamedTuple):
    """How to weigh: what a recogniser heard or what captions say, clues of the whole recording,
    and the price of a glance."""

    heard: bool
    clues: Clues
    glance_cost: float


def _lines(
    transcript: Transcript, meant: Understanding, lexicon: Lexicon, scales: _Scales
) -> Iterator[Line]:
    """The lines, each with how sure it is that no flaw was missed in it, and why it may be."""
    known = names(lexicon)
    again = (mention.interval for s in meant.statements for mention in s.mentions)
    stated = _by_line([*(s.basis_interval for s in meant.statements), *again], transcript.lines)
    clean = _by_line((part.interval for part in meant.clean), transcript.lines)
    for line in transcript.lines:
        noted = _flagged(line, meant.line_flags.get(line.id, []))
        if line.status == "unheard":
            yield noted
            continue
        read = meant.line_clues.get(line.id, {})
        clues = line_clues(noted, stated[line.id], clean[line.id], known, read) | scales.clues
        sure = sureness("line", clues, scales.heard)
        weighed = noted.model_copy(update={"confidence": sure, "evidence": clues})
        yield _flagged(weighed, line_flags(clues, sure, scales.glance_cost))


def _by_line(spoken: Iterable[Interval], lines: Sequence[Line]) -> dict[str, list[Interval]]:
    """The stretches that each line, by its id, has a part of."""
    found = defaultdict[str, list[Interval]](list)
    for interval in spoken:
        for line in _lines_of(interval, lines):
            found[line.id].append(interval)
    return found


def _lines_of(spoken: Interval, lines: Sequence[Line]) -> Sequence[Line]:
    """The lines, which are in time order, that some stretch is a part of."""
    first = bisect_right(lines, spoken.start_s, key=lambda line: line.end_s)
    last = bisect_left(lines, spoken.end_s, key=lambda line: line.start_s)
    return lines[first:last] or lines[first : first + 1]


def _flagged(line: Line, more: Sequence[str]) -> Line:
    if not more:
        return line
    status = "doubtful" if line.status == "heard" else line.status
    flags = list(dict.fromkeys([*line.flags, *more]))
    return line.model_copy(update={"flags": flags, "status": status})


def _finding(
    number: int, statement: Statement, lines: Sequence[Line], lexicon: Lexicon, scales: _Scales
) -> Finding:
    place, when = statement.place, statement.interval
    clues = finding_clues(statement, lines) | scales.clues
    sure = sureness("finding", clues, scales.heard)
    flags = finding_flags(statement.notes, clues, sure, scales.glance_cost)
    return Finding(
        id=f"F{number:03}",
        part=place.part,
        position=place.position,
        side=place.side,
        side_basis=place.side_basis,
        part_said=place.part_said,
        detail=place.detail,
        defect=statement.defect,
        severity=statement.severity,
        severity_basis=statement.severity_basis,
        count=statement.count,
        size_mm=statement.size_mm,
        area_pct=statement.area_pct,
        start_s=round(when.start_s, 3),
        end_s=round(when.end_s, 3),
        heard=statement.heard,
        read_as=statement.read_as,
        confidence=sure,
        flags=flags,
        status="flagged" if flags else "clear",
        mentions=statement.mentions,
        caution=caution(lexicon, place.part, statement.defect, place.part_said),
        line_id=statement.line_id,
        evidence=clues,
        readings=_readings(statement, lines),
    )


def _readings(statement: Statement, lines: Sequence[Line]) -> list[Reading]:
    """The other ways to read a statement's words that were weighed, the likeliest first."""
    when = statement.basis_interval
    others = rivals(repair for line in lines for repair in repairs_in(line, when))
    others = [repair for repair in others if repair.role in ("part", "defect")]
    return [
        Reading(
            text=repair.read_as,
            part=repair.id if repair.role == "part" else statement.place.part,
            defect=repair.id if repair.role == "defect" else statement.defect,
            margin=repair.margin,
        )
        for repair in sorted(others, key=lambda repair: -repair.probability)
    ]
