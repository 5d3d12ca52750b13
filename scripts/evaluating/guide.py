"""A reviewer who knows the truth: what he decides of each question that a record leaves open."""

from collections.abc import Iterable

from pipeline.models import Finding, Line, Record
from pipeline.review.decisions import (
    Accept,
    Add,
    Amend,
    Amendment,
    Decision,
    Reread,
    Strike,
    UnderstandText,
)
from pipeline.review.questions import Question
from pipeline.score.scoring import match_findings
from pipeline.score.timing import timed, when
from pipeline.score.truth import TrueFinding, Truth


def decision_on(
    question: Question, record: Record, truth: Truth, understand_text: UnderstandText
) -> Decision:
    """What puts right what is asked about, as far as part and flaw go; the truth has times.

    What was said is typed as it was said, and named by part and flaw where that is not understood.
    """
    matching = match_findings(timed(truth), record)
    asked = question.finding or question.line
    assert asked is not None
    shown = [question.finding] if question.finding else question.found
    wrong = next((finding for finding in shown if finding in matching.wrong), None)
    if question.finding and not wrong:
        return Accept(target=question.target)
    missed = _within(asked, matching.missed)
    target = wrong.id if wrong else question.target
    if not missed:
        return Strike(target=target) if wrong else Accept(target=target)
    for reading in question.readings:
        if [(flaw.part, flaw.defect) for flaw in missed] == [(reading.part, reading.defect)]:
            fields = {"part": reading.part, "defect": reading.defect, "read_as": reading.text}
            return Amend(target=target, to=Amendment(**fields))
    said = ". ".join(flaw.phrase for flaw in missed)
    understood = {(one.place.part, one.defect) for one in understand_text(said)}
    if understood == {(flaw.part, flaw.defect) for flaw in missed}:
        return Reread(target=target, said=said)
    named = Amendment(part=missed[0].part, defect=missed[0].defect)
    return Amend(target=target, to=named) if wrong else Add(at_s=_start_s(missed[0]), finding=named)


def _start_s(flaw: TrueFinding) -> float:
    return round(when(flaw).start_s, 2)


def _within(asked: Finding | Line, flaws: Iterable[TrueFinding]) -> list[TrueFinding]:
    """The flaws that are spoken, for the better part, where a question is about."""
    spoken = asked.interval
    return [
        flaw
        for flaw in flaws
        if 2 * when(flaw).overlap_s(spoken) > min(when(flaw).duration_s, spoken.duration_s)
    ]
