"""The step itself: what was meant in, findings with confidence and flags out."""

from pipeline.models import Finding, Line, Record, Settings, Source, Statement, Transcript, Understanding
from pipeline.understand.cautions import caution
from lexicon.load import Lexicon
from pipeline.weigh.confidence import confidence, evidence_of
from pipeline.weigh.flags import UNSURE_BELOW, flags


def weigh(
    transcript: Transcript,
    understanding: Understanding,
    lexicon: Lexicon,
    source: Source,
    settings: Settings,
) -> Record:
    """The record of a walkaround, in the order in which its flaws are spoken of."""
    lines = [_flagged(line, understanding) for line in transcript.lines]
    by_id = {line.id: line for line in lines}
    ordered = sorted(understanding.statements, key=lambda s: (s.interval.start_s, s.interval.end_s))
    findings = [
        _finding(number, statement, by_id[statement.line_id], lexicon)
        for number, statement in enumerate(ordered, 1)
    ]
    return Record(
        source=source,
        vehicle=understanding.vehicle,
        findings=findings,
        clean=understanding.clean,
        unmentioned=understanding.unmentioned,
        lines=lines,
        settings=settings.model_copy(update={"thresholds": {"unsure_below": UNSURE_BELOW}}),
    )


def _flagged(line: Line, understanding: Understanding) -> Line:
    more = understanding.line_flags.get(line.id, [])
    if not more:
        return line
    flags = list(dict.fromkeys([*line.flags, *more]))
    status = "doubtful" if line.status == "heard" else line.status
    return line.model_copy(update={"flags": flags, "status": status})


def _finding(number: int, statement: Statement, line: Line, lexicon: Lexicon) -> Finding:
    evidence = evidence_of(statement, line)
    sure = confidence(statement, evidence)
    raised = flags(statement, evidence, sure)
    place, when = statement.place, statement.interval
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
        flags=raised,
        status="flagged" if raised else "clear",
        mentions=statement.mentions,
        caution=caution(lexicon, place.part, statement.defect),
        line_id=statement.line_id,
        evidence=evidence.as_numbers(),
    )
