"""What the reviewer's keys do: each asks for what it needs and gives a decision, or none."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, TypeVar

from rich.text import Text

from pipeline.errors import WearwordError
from pipeline.models import Finding, Record
from pipeline.review.choices import Choices, best_matches, in_words, read_amount, read_place
from pipeline.review.decisions import (
    OTHER_PART,
    Accept,
    Add,
    Amend,
    Amendment,
    Decision,
    Merge,
    NotAudible,
    Reread,
    Split,
    Strike,
    UnderstandText,
)
from pipeline.review.questions import Question
from pipeline.review.terminal import ENTER, Terminal
from pipeline.review.view import title
from pipeline.times import clock, parse_clock
from pipeline.wording import plain

T = TypeVar("T")

_DIGITS = "123456789"
_GRADES = "012345-"


@dataclass(frozen=True)
class Asking:
    """What an action may look at and ask with; no question where the talk is at its end."""

    terminal: Terminal
    choices: Choices
    understand_text: UnderstandText
    record: Record
    question: Question


@dataclass(frozen=True)
class Action:
    """A key's name, what it does, and the word for it once it is done.

    After an action that `stays`, the question is shown again: there may be more to put right.
    """

    name: str
    decide: Callable[[Asking], Decision | None]
    done: str = "amended"
    of: Literal["finding", "any"] = "finding"
    stays: bool = False


def _accept(asking: Asking) -> Decision | None:
    return Accept(target=asking.question.target)


def _strike(asking: Asking) -> Decision | None:
    return Strike(target=asking.question.target)


def _not_audible(asking: Asking) -> Decision | None:
    return NotAudible(target=asking.question.target)


def _part(asking: Asking) -> Decision | None:
    return _amend(asking, _asked_part(asking))


def _defect(asking: Asking) -> Decision | None:
    return _amend(asking, _asked_defect(asking, "Flaw"))


def _grade(asking: Asking) -> Decision | None:
    key = asking.terminal.key("Grade 0 to 5, - for none", _GRADES)
    return _amend(asking, {} if key == ENTER else {"severity": None if key == "-" else int(key)})


def _place(asking: Asking) -> Decision | None:
    return _amend(asking, _read(asking, "Place, such as front left, - for none", read_place))


def _amount(asking: Asking) -> Decision | None:
    return _amend(asking, _read(asking, "Amount, such as 3, 2 in or 30%, - for none", read_amount))


def _typed(asking: Asking) -> Decision | None:
    said = asking.terminal.line("What was said")
    if said and not asking.understand_text(said):
        asking.terminal.show("No flaw is understood in that; say it otherwise, or use + or s.")
        return None
    return Reread(target=asking.question.target, said=said) if said else None


def _other_reading(asking: Asking) -> Decision | None:
    readings = asking.question.readings
    if not readings:
        asking.terminal.show("There is no other reading.")
        return None
    if len(readings) == 1:
        return _reading(0)(asking)
    key = asking.terminal.key("Which one", _DIGITS[: len(readings)])
    return None if key == ENTER else _reading(int(key) - 1)(asking)


def _reading(index: int) -> Callable[[Asking], Decision | None]:
    def take(asking: Asking) -> Decision | None:
        reading = asking.question.readings[index]
        fields = {"part": reading.part, "defect": reading.defect, "read_as": reading.text}
        if reading.part == OTHER_PART:
            fields["part_said"] = reading.text
        return _amend(asking, fields)

    return take


def _repeat(asking: Asking) -> Decision | None:
    others = _nearest_findings(asking)
    if not others:
        asking.terminal.show("There is no other finding.")
        return None
    for digit, other in zip(_DIGITS, others, strict=False):
        asking.terminal.show(Text(f"  {digit}  {title(other)} at {clock(other.start_s)}"))
    key = asking.terminal.key("Which one it repeats", _DIGITS[: len(others)])
    if key == ENTER:
        return None
    return Merge(target=asking.question.target, into=others[int(key) - 1].id)


def _several(asking: Asking) -> Decision | None:
    typed = asking.terminal.line("Its flaws, with commas between")
    if not typed:
        return None
    names = [name.strip() for name in typed.split(",")]
    found = [next(iter(best_matches(name, asking.choices.defects)), None) for name in names]
    if None in found or len(found) < 2:
        asking.terminal.show("Name two flaws or more, such as: chip, scratch")
        return None
    into = [Amendment(defect=defect) for defect in found if defect]
    return Split(target=asking.question.target, into=into)


def _missed(asking: Asking) -> Decision | None:
    here = asking.question.at_s
    at_s = _read(asking, f"At what time (Enter for {clock(here)})", parse_clock, default=here)
    if at_s is None or not (part := _asked_part(asking)):
        return None
    defect = _asked_defect(asking, "Flaw")
    return Add(at_s=at_s, finding=Amendment(**part, **defect)) if defect else None


ACTIONS: Mapping[str, Action] = {
    ENTER: Action("right as it stands (of a line: no other flaw)", _accept, "settled", of="any"),
    "a": Action("the same as Enter", _accept, "settled", of="any"),
    "s": Action("strike: nothing of the kind was said", _strike, "struck"),
    "t": Action("type what was said", _typed, of="any", stays=True),
    "p": Action("part", _part, stays=True),
    "d": Action("flaw", _defect, stays=True),
    "g": Action("grade", _grade, stays=True),
    "w": Action("place", _place, stays=True),
    "m": Action("amount: how many, how large, how much of it", _amount, stays=True),
    "o": Action("other reading, or its number", _other_reading),
    "r": Action("repeat of another finding", _repeat, "a repeat"),
    "/": Action("several flaws in one", _several, stays=True),
    "n": Action("not audible", _not_audible, "not audible", of="any"),
    "+": Action("add a flaw that was missed", _missed, of="any", stays=True),
}


def actions_for(question: Question) -> dict[str, Action]:
    """The keys that fit a question, with what they do."""
    if question.finding is None:
        return {key: action for key, action in ACTIONS.items() if action.of == "any"}
    indexes = numbered(range(len(question.readings)))
    return {**ACTIONS, **{digit: Action("reading", _reading(i)) for digit, i in indexes.items()}}


def numbered(items: Iterable[T]) -> dict[str, T]:
    """The first nine of some items by the digit that picks each."""
    return dict(zip(_DIGITS, items, strict=False))


def _amend(asking: Asking, fields: Mapping[str, Any] | None) -> Decision | None:
    if not fields:
        return None
    return Amend(target=asking.question.target, to=Amendment(**fields))


def _asked_part(asking: Asking) -> dict[str, Any]:
    """A part of the lexicon, or another one by the name typed; empty where none is wanted."""
    typed, part = _chosen(asking, "Part", asking.choices.parts)
    if part:
        return {"part": part}
    if typed and asking.terminal.key(f"No part is like '{typed}'; y takes it as named", "y") == "y":
        return {"part": OTHER_PART, "part_said": typed}
    return {}


def _asked_defect(asking: Asking, prompt: str) -> dict[str, Any]:
    typed, defect = _chosen(asking, prompt, asking.choices.defects)
    if typed and not defect:
        asking.terminal.show(Text(f"No flaw is like '{plain(typed)}'."))
    return {"defect": defect} if defect else {}


def _chosen(
    asking: Asking, prompt: str, options: Mapping[str, Sequence[str]]
) -> tuple[str, str | None]:
    """What was typed, and the option nearest to it."""

    def suggest(text: str) -> list[str]:
        return [in_words(key) for key in best_matches(text, options)]

    typed = asking.terminal.line(prompt, suggest)
    return typed, next(iter(best_matches(typed, options)), None)


def _read(
    asking: Asking, prompt: str, read: Callable[[str], Any], default: Any = None
) -> Any | None:
    """What was typed, as read; the default for just Enter, None where it cannot be read."""
    typed = asking.terminal.line(prompt)
    if not typed:
        return default
    try:
        return read(typed)
    except (ValueError, WearwordError) as error:
        asking.terminal.show(Text(str(error)))
        return None


def _nearest_findings(asking: Asking) -> list[Finding]:
    """The findings that this one may repeat: of the same part first, then the nearest in time."""
    this = asking.question.finding
    assert this is not None
    others = [item for item in asking.record.findings if item.id != this.id]
    others = [item for item in others if item.status != "struck"]
    others.sort(key=lambda item: (item.part != this.part, abs(item.start_s - this.start_s)))
    return others[: len(_DIGITS)]
