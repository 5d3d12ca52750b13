"""What is left to ask about a record, the most valuable question first. Pure."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationError

from pipeline.models import Finding, Line, Record, Word
from pipeline.review.decisions import UnderstandText

Reason = Callable[[str], str]

_DOUBTFUL_WORD = 0.5  # a word less probable than this is shown as doubtful
_MIDDLING = 3  # the grade of a flaw that none was said of
_UNWEIGHED = 0.5  # doubt of a line that nobody has weighed
_CAUTION_WEIGHT = 2.0  # a flaw that can hurt somebody counts as two grades' worth of doubt more


class Reading(BaseModel):
    """Another way of reading a finding's words; `margin` in nats behind the best, where known."""

    model_config = ConfigDict(extra="ignore", frozen=True)

    text: str
    part: str
    defect: str
    margin: float | None = None


@dataclass(frozen=True)
class Question:
    """One thing to settle: a finding, or a line (`finding` is then None).

    `line` is the line it was said in, with the one before and the one after; each may be missing.
    `found` are the findings that a line has already. `reasons` are sentences. `readings` are other
    ways of reading the words, likeliest first.
    """

    target: str
    at_s: float
    end_s: float
    finding: Finding | None
    line: Line | None
    line_before: Line | None
    line_after: Line | None
    reasons: tuple[str, ...]
    readings: tuple[Reading, ...]
    found: tuple[Finding, ...] = ()


def open_questions(record: Record, reason: Reason) -> list[Question]:
    """The flagged findings and lines in order of what an error would cost, equals in order of time.

    That is doubt times grade, a caution weighing more; a line may hide a flaw of a middling grade.
    Lines without words come last. A line is seen with each finding in it, so it is no question of
    its own where one is flagged or was settled.
    """
    asked = [finding for finding in record.findings if finding.status != "clear"]
    seen = {_line_index(record.lines, finding) for finding in asked}
    items: list[Finding | Line] = [finding for finding in asked if finding.status == "flagged"]
    items += [line for i, line in enumerate(record.lines) if i not in seen and _is_open(line)]
    return [question_about(record, item, reason) for item in sorted(items, key=_rank)]


def question_about(record: Record, item: Finding | Line, reason: Reason) -> Question:
    """The question about a finding or a line of the record, whether it is open or settled."""
    finding = item if isinstance(item, Finding) else None
    index = _line_index(record.lines, item)
    line = None if index is None else record.lines[index]
    return Question(
        target=item.id,
        at_s=item.start_s,
        end_s=item.end_s,
        finding=finding,
        line=line,
        line_before=record.lines[index - 1] if index else None,
        line_after=next(iter(record.lines[index + 1 :]), None) if index is not None else None,
        reasons=tuple(reason(code) for code in item.flags),
        readings=_readings(finding) if finding else (),
        found=() if finding or index is None else tuple(_in_line(record, index)),
    )


def with_words_as_heard(question: Question, understand_text: UnderstandText) -> Question:
    """The question with what its words mean as they were heard, where they were read as others."""
    finding = question.finding
    if finding is None or finding.heard == finding.read_as:
        return question
    known = {(reading.part, reading.defect) for reading in question.readings}
    known.add((finding.part, finding.defect))
    heard = [
        Reading(text=finding.heard, part=stated.place.part, defect=stated.defect)
        for stated in understand_text(finding.heard)
        if (stated.place.part, stated.defect) not in known
    ]
    return replace(question, readings=(*heard, *question.readings))


def is_doubtful(word: Word) -> bool:
    """Whether a word is shown as doubtful: the recogniser itself was hardly sure of it."""
    return word.probability is not None and word.probability < _DOUBTFUL_WORD


def as_json(question: Question) -> dict[str, Any]:
    """A question as JSON-ready values, for `--list`."""
    words = question.line.words if question.line else []
    return {
        "target": question.target,
        "kind": "finding" if question.finding else "line",
        "start_s": question.at_s,
        "end_s": question.end_s,
        "line": question.line.text if question.line else None,
        "line_before": question.line_before.text if question.line_before else None,
        "line_after": question.line_after.text if question.line_after else None,
        "doubtful_words": [word.text for word in words if is_doubtful(word)],
        "found": [finding.id for finding in question.found],
        "finding": question.finding.model_dump(mode="json") if question.finding else None,
        "readings": [reading.model_dump(mode="json") for reading in question.readings],
        "reasons": list(question.reasons),
    }


def _rank(item: Finding | Line) -> tuple[bool, float, float]:
    wordless = isinstance(item, Line) and item.status == "unheard"
    return wordless, -_cost(item), item.start_s


def _cost(item: Finding | Line) -> float:
    """What it costs, on average, to leave an item as it is."""
    if isinstance(item, Line):
        doubt = _UNWEIGHED if item.confidence is None else 1 - item.confidence
        return doubt * (1 + _MIDDLING)
    grade = _MIDDLING if item.severity is None else item.severity
    return (1 - item.confidence) * (1 + grade + (_CAUTION_WEIGHT if item.caution else 0))


def _in_line(record: Record, index: int) -> Iterator[Finding]:
    """The findings of a line that stand."""
    for finding in record.findings:
        if finding.status != "struck" and _line_index(record.lines, finding) == index:
            yield finding


def _is_open(line: Line) -> bool:
    return line.status != "heard" and getattr(line, "reviewed", None) is None


def _line_index(lines: Sequence[Line], item: Finding | Line) -> int | None:
    """The item's own line; for a finding that names none, the line it overlaps most."""
    wanted = item.id if isinstance(item, Line) else item.line_id
    for index, line in enumerate(lines):
        if line.id == wanted:
            return index
    overlaps = [(line.interval.overlap_s(item.interval), -i) for i, line in enumerate(lines)]
    most, index = max(overlaps, default=(0.0, 0))
    return -index if most > 0 else None


def _readings(finding: Finding) -> tuple[Reading, ...]:
    """The other readings that the record carries; what is no reading is passed over."""
    given = getattr(finding, "readings", None)
    readings: list[Reading] = []
    for data in given if isinstance(given, list) else []:
        try:
            reading = Reading.model_validate(data)
        except ValidationError:
            continue
        if (reading.part, reading.defect) != (finding.part, finding.defect):
            readings.append(reading)
    return tuple(readings)
