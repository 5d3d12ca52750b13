"""A question as the reviewer sees it, at 80 columns, or hears it read out. Pure.

Whatever stems from a recording passes through `wording.plain`: no text acts on the terminal.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from pipeline.models import Finding, Line, Vehicle
from pipeline.review.choices import in_words
from pipeline.review.journal import Entry
from pipeline.review.questions import Question, is_doubtful
from pipeline.times import clock
from pipeline.wording import (
    capitalised,
    defect_name,
    grade_word,
    kind_name,
    part_name,
    plain,
    repair_text,
    sentence,
)

_NOTHING_HEARD = "(no words were heard here)"
_MARGIN = 9  # columns left of the text: a mark and a time up to h:mm:ss


def question_text(question: Question, left: int) -> RenderableType:
    """A question for the eye: the line among its neighbours, what was read, why, other readings."""
    rows = Table.grid(padding=(0, 2))
    rows.add_column(justify="right", width=_MARGIN, no_wrap=True)
    rows.add_column()
    for line in (question.line_before, question.line, question.line_after):
        if line is not None:
            asked = line is question.line
            time = Text(f"> {clock(line.start_s)}" if asked else clock(line.start_s), style="cyan")
            rows.add_row(time, Text(_spoken(line, "[{}?]"), style="" if asked else "dim"))
    rows.add_row()
    for number, finding in enumerate(question.found, start=1):
        rows.add_row(Text(str(number), style="bold cyan"), Text(f"{sentence(finding)}."))
    rows.add_row("", Text(_stated(question), style="bold"))
    for detail in _details(question):
        rows.add_row("", Text(detail))
    for reason in question.reasons:
        rows.add_row("", Text(f"Why: {plain(reason)}", style="yellow"))
    for number, reading in enumerate(_readings(question), start=1):
        rows.add_row(Text(str(number), style="bold cyan"), Text(f"or {reading}"))
    heading = f"\n──── {left} left ──── {question.target} at {clock(question.at_s)}"
    return Group(Text(heading), rows)


def question_words(question: Question, left: int) -> Text:
    """A question for the ear: every part of it named, one a line, nothing told by signs alone."""
    what = "Finding" if question.finding else "Line"
    rows = [f"\n{left} left. {what} {question.target} at {clock(question.at_s)}."]
    found = enumerate(question.found, start=1)
    rows += [f"Finding {number}: {sentence(finding)}." for number, finding in found]
    rows.append(_stated(question))
    rows += [f"{detail}." for detail in _details(question)]
    rows += [f"Why it is asked: {plain(reason)}." for reason in question.reasons]
    for name, line in (
        ("Line before", question.line_before),
        ("Line", question.line),
        ("Line after", question.line_after),
    ):
        if line is not None:
            rows.append(f"{name}, {clock(line.start_s)}: {_spoken(line, '{} (doubtful)')}")
    readings = enumerate(_readings(question), start=1)
    rows += [f"Other reading {number}: {reading}." for number, reading in readings]
    return Text("\n".join(rows))


def overview(questions: Sequence[Question]) -> str:
    """How much there is to settle: "4 to settle: 2 findings, 2 lines that may hide a flaw"."""
    findings = sum(question.finding is not None for question in questions)
    lines = len(questions) - findings
    told = [f"{findings} finding{'s' * (findings != 1)}"] if findings else []
    told += [f"{lines} line{'s' * (lines != 1)} that may hide a flaw"] if lines else []
    return f"{len(questions)} to settle: {', '.join(told)}, what matters most first."


def kind_text(vehicle: Vehicle) -> str | None:
    """What the machine was taken for, where that was a guess: "Taken for a snowmobile ..."."""
    guessed = {"talk": "as the talk tells", "default": "since nothing tells"}
    if vehicle.kind_basis not in guessed:
        return None
    name = kind_name(vehicle.kind)
    return f"Taken for a {name}, {guessed[vehicle.kind_basis]}; c corrects that."


def anew_text(entry: Entry) -> str:
    """What came of understanding the talk anew, and of a phrase that was explained."""
    of_findings = [change for change in entry.changes if change.of == "finding"]
    new = sum(change.before is None for change in of_findings)
    gone = sum(change.after is None for change in of_findings)
    rest = len(of_findings) - new - gone
    kept = (
        f"'{change.id}' is kept as a word for {in_words(change.after['names'])}. "
        for change in entry.changes
        if change.of == "lexicon" and change.after
    )
    told = f"Findings: {new} new, {gone} gone, {rest} changed; what is settled stays."
    return plain("".join(kept) + told)


def title(finding: Finding) -> str:
    """Part and flaw, short enough for a list: "Left saddlebag: crack"."""
    return f"{capitalised(part_name(finding))}: {defect_name(finding.defect)}"


def entry_text(entry: Entry) -> str:
    """A decision of the journal in one line."""
    told = entry.decision.model_dump(mode="json")
    kind, target = told.pop("kind").replace("_", " "), told.pop("target", "")
    what = " ".join(filter(None, [target, kind, _told(told)]))
    return plain(f"{entry.number}. {entry.at:%Y-%m-%d %H:%M} {entry.by}: {what}")


def _told(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{key.replace('_', ' ')} {_told(item)}" for key, item in value.items())
    if isinstance(value, list):
        return "; ".join(_told(item) for item in value)
    return "none" if value is None else str(value)


def _stated(question: Question) -> str:
    if question.finding is None:
        return f"Does the line speak of {'another' if question.found else 'a'} flaw?"
    struck = " (struck)" if question.finding.status == "struck" else ""
    return f"{sentence(question.finding)}{struck}."


def _details(question: Question) -> Iterator[str]:
    finding = question.finding
    if finding is None:
        return
    if plain(finding.read_as).lower() != plain(finding.heard).lower():
        yield f'Read as "{plain(finding.read_as)}", heard "{plain(finding.heard)}"'
    for repair in question.line.repairs if question.line else ():
        if repair.taken:
            yield repair_text(repair)
    grade = "No grade" if finding.severity is None else _grade(finding)
    side = " Side not said, taken from the walk." if finding.side_basis == "inferred" else ""
    yield f"{grade}.{side}".removesuffix(".")
    if finding.caution:
        first, *_ = plain(finding.caution).split(". ")  # the rest is the same of all
        yield f"Caution: {first}".removesuffix(".")


def _grade(finding: Finding) -> str:
    basis = {"spoken": "as said", "area": "by its area", "default": "none was said"}
    word = grade_word(finding.severity)
    return f"Grade {finding.severity}, {word} ({basis[finding.severity_basis]})"


def _readings(question: Question) -> Iterator[str]:
    if question.finding is None:
        return
    for reading in question.readings:
        said = {"part": reading.part, "part_said": reading.text, "defect": reading.defect}
        other = question.finding.model_copy(update=said)
        yield f'{title(other)}, from "{plain(reading.text)}"'


def _spoken(line: Line, mark: str) -> str:
    """A line's words with each run of doubtful ones marked."""
    if not line.words:
        return plain(line.text) or _NOTHING_HEARD
    runs = groupby(line.words, key=is_doubtful)
    return " ".join(
        mark.format(text) if doubtful else text
        for doubtful, words in runs
        if (text := plain(" ".join(word.text for word in words)))
    )
