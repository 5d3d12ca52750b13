"""The step itself: what was meant in, findings with confidence and flags out."""

from collections.abc import Sequence

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
from pipeline.understand.cautions import caution
from pipeline.weigh.confidence import (
    Names,
    finding_clues,
    line_clues,
    names,
    repairs_in,
    rivals,
    sureness,
)
from pipeline.weigh.flags import GLANCE_COST, finding_flags, line_flags


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
    that nobody looked at does, 0 to 1. The dearer a look, the less is flagged.
    """
    ordered = sorted(understanding.statements, key=lambda s: (s.interval.start_s, s.interval.end_s))
    known = names(lexicon)
    lines = [
        _weighed(_noted(line, understanding), understanding, known, glance_cost)
        for line in transcript.lines
    ]
    return Record(
        source=source,
        vehicle=understanding.vehicle,
        findings=[
            _finding(number, statement, transcript.lines, lexicon, glance_cost)
            for number, statement in enumerate(ordered, 1)
        ],
        clean=understanding.clean,
        unmentioned=understanding.unmentioned,
        lines=lines,
        settings=settings.model_copy(update={"thresholds": {"glance_cost": glance_cost}}),
    )


def _noted(line: Line, understanding: Understanding) -> Line:
    """The line with what understanding says of it."""
    return _flagged(line, understanding.line_flags.get(line.id, []))


def _weighed(line: Line, meant: Understanding, known: Names, glance_cost: float) -> Line:
    """The line with how sure it is that no flaw was missed in it."""
    if line.status == "unheard":
        return line
    clues = line_clues(line, meant, known)
    sure = sureness("line", clues)
    return _flagged(
        line.model_copy(update={"confidence": sure}), line_flags(clues, sure, glance_cost)
    )


def _flagged(line: Line, more: Sequence[str]) -> Line:
    if not more:
        return line
    status = "doubtful" if line.status == "heard" else line.status
    flags = list(dict.fromkeys([*line.flags, *more]))
    return line.model_copy(update={"flags": flags, "status": status})


def _finding(
    number: int, statement: Statement, lines: Sequence[Line], lexicon: Lexicon, glance_cost: float
) -> Finding:
    place, when = statement.place, statement.interval
    own = [line for line in lines if line.interval.overlap_s(when) or line.id == statement.line_id]
    clues = finding_clues(statement, own)
    sure = sureness("finding", clues)
    flags = finding_flags(statement.notes, clues, sure, glance_cost)
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
        caution=caution(lexicon, place.part, statement.defect),
        line_id=statement.line_id,
        evidence=clues,
        readings=_readings(statement, own),
    )


def _readings(statement: Statement, lines: Sequence[Line]) -> list[Reading]:
    """The other ways to read a statement's words that were weighed, the likeliest first."""
    when = statement.interval
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
