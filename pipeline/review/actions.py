"""What the reviewer's keys do: each asks for what it needs and gives a decision, or none."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, NamedTuple, TypeVar, get_args

from rich.text import Text

from pipeline.errors import WearwordError
from pipeline.models import Finding, Kind, Record
from pipeline.review.choices import (
    Choices,
    best_matches,
    in_words,
    is_begun,
    read_amount,
    read_place,
)
from pipeline.review.decisions import (
    OTHER_PART,
    Accept,
    Add,
    Amend,
    Amendment,
    Decision,
    Explain,
    Merge,
    NotAudible,
    Reclassify,
    Reread,
    Split,
    Strike,
    UnderstandText,
)
from pipeline.review.questions import Question
from pipeline.review.terminal import ENTER, Terminal
from pipeline.review.view import title
from pipeline.times import clock, parse_clock
from pipeline.wording import kind_name, plain

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
    """A key's name, the decisions it leads to, if any, and the word for it once it is done.

    After an action that `stays`, the question is shown again: there may be more to put right.
    """

    name: str
    decide: Callable[[Asking], Sequence[Decision]]
    done: str = "amended"
    of: Literal["finding", "any"] = "finding"
    stays: bool = False


class Named(NamedTuple):
    """What a reviewer named: fields of a finding, none where none is wanted, and words to learn."""

    fields: dict[str, Any]
    new: tuple[Explain, ...] = ()


def _accept(asking: Asking) -> Sequence[Decision]:
    return [Accept(target=asking.question.target)]


def _strike(asking: Asking) -> Sequence[Decision]:
    return [Strike(target=asking.question.target)]


def _not_audible(asking: Asking) -> Sequence[Decision]:
    return [NotAudible(target=asking.question.target)]


def _part(asking: Asking) -> Sequence[Decision]:
    part = _asked_part(asking)
    return [*_amend(asking, part.fields), *part.new]


def _defect(asking: Asking) -> Sequence[Decision]:
    defect = _asked_defect(asking)
    return [*_amend(asking, defect.fields), *defect.new]


def _grade(asking: Asking) -> Sequence[Decision]:
    key = asking.terminal.key("Grade 0 to 5, - for none", _GRADES)
    return _amend(asking, {} if key == ENTER else {"severity": None if key == "-" else int(key)})


def _place(asking: Asking) -> Sequence[Decision]:
    return _amend(asking, _read(asking, "Place, such as front left, - for none", read_place))


def _amount(asking: Asking) -> Sequence[Decision]:
    return _amend(asking, _read(asking, "Amount, such as 3, 2 in or 30%, - for none", read_amount))


def _typed(asking: Asking) -> Sequence[Decision]:
    said = asking.terminal.line("What was said")
    if said and not asking.understand_text(said):
        asking.terminal.show("No flaw is understood in that; say it otherwise, or use e, + or s.")
        return []
    return [Reread(target=asking.question.target, said=said)] if said else []


def _other_reading(asking: Asking) -> Sequence[Decision]:
    readings = asking.question.readings
    if not readings:
        asking.terminal.show("There is no other reading.")
        return []
    if len(readings) == 1:
        return _reading(0)(asking)
    key = asking.terminal.key("Which one", _DIGITS[: len(readings)])
    return [] if key == ENTER else _reading(int(key) - 1)(asking)


def _reading(index: int) -> Callable[[Asking], Sequence[Decision]]:
    def take(asking: Asking) -> Sequence[Decision]:
        reading = asking.question.readings[index]
        fields = {"part": reading.part, "defect": reading.defect, "read_as": reading.text}
        if reading.part == OTHER_PART:
            fields["part_said"] = reading.text
        return _amend(asking, fields)

    return take


def _repeat(asking: Asking) -> Sequence[Decision]:
    others = _nearest_findings(asking)
    if not others:
        asking.terminal.show("There is no other finding.")
        return []
    for digit, other in zip(_DIGITS, others, strict=False):
        asking.terminal.show(Text(f"  {digit}  {title(other)} at {clock(other.start_s)}"))
    key = asking.terminal.key("Which one it repeats", _DIGITS[: len(others)])
    if key == ENTER:
        return []
    return [Merge(target=asking.question.target, into=others[int(key) - 1].id)]


def _several(asking: Asking) -> Sequence[Decision]:
    typed = asking.terminal.line("Its flaws, with commas between")
    if not typed:
        return []
    names = [name.strip() for name in typed.split(",")]
    found = [next(iter(best_matches(name, asking.choices.defects)), None) for name in names]
    if None in found or len(found) < 2:
        asking.terminal.show("Name two flaws or more, such as: chip, scratch")
        return []
    into = [Amendment(defect=defect) for defect in found if defect]
    return [Split(target=asking.question.target, into=into)]


def _missed(asking: Asking) -> Sequence[Decision]:
    here = asking.question.at_s
    at_s = _read(asking, f"At what time (Enter for {clock(here)})", parse_clock, default=here)
    if at_s is None or not (part := _asked_part(asking)).fields:
        return []
    defect = _asked_defect(asking)
    if not defect.fields:
        return []
    added = Add(at_s=at_s, finding=Amendment(**part.fields, **defect.fields))
    return [added, *part.new, *defect.new]


def _explain(asking: Asking) -> Sequence[Decision]:
    phrase = asking.terminal.line("The word or words, as they are said")
    if not phrase:
        return []
    meanings = {**asking.choices.parts, **asking.choices.defects}
    typed, names = _chosen(asking, "The part or flaw that they name", meanings)
    if typed and not names:
        asking.terminal.show(Text(f"No part and no flaw is like '{plain(typed)}'."))
    return [Explain(phrase=phrase, names=names)] if names else []


def _reclassify(asking: Asking) -> Sequence[Decision]:
    kinds: tuple[Kind, ...] = get_args(Kind)
    names = "  ".join(f"{digit} {kind_name(kind)}" for digit, kind in numbered(kinds).items())
    asking.terminal.show("The talk is understood anew; what is settled stays as it is.")
    key = asking.terminal.key(names, _DIGITS[: len(kinds)])
    return [] if key == ENTER else [Reclassify(to=kinds[int(key) - 1])]


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
    "e": Action("explain a word that is not known, for later too", _explain, of="any", stays=True),
    "c": Action("correct the kind of machine", _reclassify, of="any", stays=True),
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


def _amend(asking: Asking, fields: Mapping[str, Any] | None) -> Sequence[Decision]:
    if not fields:
        return []
    return [Amend(target=asking.question.target, to=Amendment(**fields))]


def _asked_part(asking: Asking) -> Named:
    """A part of the lexicon, or another one by the name typed."""
    return _named(asking, "part", asking.choices.parts)


def _asked_defect(asking: Asking) -> Named:
    return _named(asking, "defect", asking.choices.defects)


def _named(
    asking: Asking, field: Literal["part", "defect"], options: Mapping[str, Sequence[str]]
) -> Named:
    """What a name stands for; where it is only like one of the lexicon's, the reviewer is asked."""
    what = "Part" if field == "part" else "Flaw"
    typed, nearest = _chosen(asking, what, options)
    if not typed or (nearest and is_begun(typed, nearest, options)):
        return Named({field: nearest} if nearest else {})
    told = f"Enter takes it for {in_words(nearest)}" if nearest else f"No {what.lower()} is like it"
    other = ", y takes it as named" if field == "part" else ""
    key = asking.terminal.key(f"{told}, e explains it{other}", f"e{'y' if other else ''}")
    if key == "e":
        return _explained(asking, typed, field, options)
    if key == "y":
        return Named({"part": OTHER_PART, "part_said": typed})
    return Named({field: nearest} if nearest else {})


def _explained(
    asking: Asking, phrase: str, field: str, options: Mapping[str, Sequence[str]]
) -> Named:
    """What a name that was typed stands for, to be learned too."""
    _, names = _chosen(asking, f"'{plain(phrase)}' is a word for", options)
    return Named({field: names}, (Explain(phrase=phrase, names=names),)) if names else Named({})


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
