"""What a decision does to a record, as values before and after: made, checked and turned back."""

import re
from collections.abc import Iterable, Iterator
from itertools import count
from typing import Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict

from pipeline.errors import ReviewError
from pipeline.models import Finding, Line, Model, Record

AnyModel = TypeVar("AnyModel", bound=Model)
Item = TypeVar("Item", Finding, Line)

_NUMBERED = re.compile(r"F(\d+)")


class Change(BaseModel):
    """Fields of one finding, one line or the record itself, as they were and as they are now.

    `before` is null where a finding came to be, `after` is null where it went again. A field that
    the models do not name and that is not there stands as null. Of the lexicon, `id` is a phrase
    that comes or goes, and `names` what it stands for.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    of: Literal["finding", "line", "record", "lexicon"]
    id: str | None = None
    before: dict[str, Any] | None
    after: dict[str, Any] | None

    @property
    def reverse(self) -> "Change":
        """The change that takes this one back."""
        return self.model_copy(update={"before": self.after, "after": self.before})


def with_fields(item: AnyModel, **fields: Any) -> AnyModel:
    """A copy with some fields set anew and checked; a field unknown to the models goes by None.

    Raises pydantic's ValidationError where a value does not fit its field.
    """
    data = item.model_dump(by_alias=True) | fields
    gone = {key for key, value in fields.items() if value is None} - type(item).model_fields.keys()
    return type(item).model_validate({key: data[key] for key in data if key not in gone})


def made(finding: Finding) -> Change:
    """The change that brings a new finding into the record."""
    return Change(of="finding", id=finding.id, before=None, after=finding.model_dump(mode="json"))


def free_ids(record: Record) -> Iterator[str]:
    """Ids for new findings, after the highest number given: F013, F014, ..."""
    numbers = [int(found[1]) for f in record.findings if (found := _NUMBERED.fullmatch(f.id))]
    return (f"F{number:03}" for number in count(max(numbers, default=0) + 1))


def changed(old: Finding | Line, new: Finding | Line) -> Change:
    """The change from an item to another state of it, in the fields that differ."""
    before, after = old.model_dump(mode="json"), new.model_dump(mode="json")
    keys = [key for key in {**before, **after} if before.get(key) != after.get(key)]
    return Change(
        of="finding" if isinstance(old, Finding) else "line",
        id=old.id,
        before={key: before.get(key) for key in keys},
        after={key: after.get(key) for key in keys},
    )


def apply(record: Record, changes: Iterable[Change]) -> Record:
    """The record with the changes made that are of it; the one given stays as it is.

    Raises ReviewError where a value is no longer what it was before the change.
    """
    for change in changes:
        match change.of:
            case "finding":
                findings = _apply_to(record.findings, change, Finding)
                record = record.model_copy(update={"findings": findings})
            case "line":
                lines = _apply_to(record.lines, change, Line)
                record = record.model_copy(update={"lines": lines})
            case "record":
                record = _apply_fields(record, change)
    return record


def _apply_to(items: list[Item], change: Change, kind: type[Item]) -> list[Item]:
    items = list(items)
    index = next((i for i, item in enumerate(items) if item.id == change.id), None)
    if change.before is None:
        if index is not None:
            raise ReviewError(f"{change.id} is in the record already")
        _put_in_order(items, kind.model_validate(change.after))
        return items
    if index is None:
        raise ReviewError(f"{change.id} is not in the record any more")
    old = items.pop(index)
    item = _apply_fields(old, change)
    if change.after is None:
        return items
    if item.start_s == old.start_s:
        items.insert(index, item)
    else:
        _put_in_order(items, item)
    return items


def _put_in_order(items: list[Item], new: Item) -> None:
    """Puts an item where it is spoken, of those that begin together where its id stands."""
    items.insert(sum(_order(item) < _order(new) for item in items), new)


def _order(item: Finding | Line) -> tuple[float, int, str]:
    return item.start_s, len(item.id), item.id


def _apply_fields(item: AnyModel, change: Change) -> AnyModel:
    now = item.model_dump(mode="json", by_alias=True)
    for key, value in (change.before or {}).items():
        if now.get(key) != value:
            raise ReviewError(
                f"{change.id or 'the record'}: {key} is '{now.get(key)}' by now and was '{value}'; "
                "take back the later decisions first"
            )
    return with_fields(item, **(change.after or {}))
