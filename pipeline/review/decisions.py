"""What a reviewer can decide, as JSON lines, and what each decision changes in a record.

One decision a line, told apart by `kind`; this is the format of `--decisions FILE`:

    {"kind": "accept", "target": "F003"}                        it is as the finding says
    {"kind": "accept", "target": "L012"}                        this line holds no other flaw
    {"kind": "amend", "target": "F003", "to": {"part": "saddlebag", "position": null}}
    {"kind": "reread", "target": "L012", "said": "small crack in the saddlebag lid"}
    {"kind": "strike", "target": "F004"}                        nothing of the kind was said
    {"kind": "merge", "target": "F005", "into": "F002"}         F002, spoken of again
    {"kind": "split", "target": "F006", "into": [{"defect": "chip"}, {"defect": "scratch"}]}
    {"kind": "add", "at_s": 83.4, "finding": {"part": "mirror", "defect": "crack"}}
    {"kind": "not_audible", "target": "L013"}                   nobody can say what was said
    {"kind": "explain", "phrase": "tail tidy", "names": "license_plate_bracket"}    a new word
    {"kind": "reclassify", "to": "motorcycle"}                  it is another kind of machine
    {"kind": "undo", "number": 4}                               takes decision 4 of the journal back

After `explain` and `reclassify` the talk is understood anew, and what is settled by then stays. A
phrase that is explained goes into the lexicon file in use, for later recordings too.

What a reviewer settles needs no look any more, so its flags are taken away. A settled line carries
`reviewed`, and `said` where somebody typed what was said; a finding that repeats another stays, as
struck, with `merged_into`. A side or a grade that a reviewer gives counts as spoken.
"""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    SerializerFunctionWrapHandler,
    TypeAdapter,
    ValidationError,
    model_serializer,
    model_validator,
)

from pipeline.errors import ReviewError
from pipeline.models import (
    Finding,
    FindingStatus,
    Kind,
    Line,
    Mention,
    Position,
    Record,
    Side,
    Statement,
)
from pipeline.review.anew import changes_to
from pipeline.review.changes import Change, changed, free_ids, made, with_fields
from pipeline.review.choices import Choices
from pipeline.times import LATEST_S

if TYPE_CHECKING:
    from pipeline.review.wordbook import Wordbook

UnderstandText = Callable[[str], Sequence[Statement]]

_DEFAULT_GRADE = 3  # the contract's grade of a flaw with no word for how bad it is
OTHER_PART = "other"


class _Strict(BaseModel):
    """Base: frozen; an unknown field is a typo, and is refused."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Amendment(_Strict):
    """Fields of a finding set anew; what is left out stays, null empties the field."""

    part: str = ""
    part_said: str | None = None
    position: Position | None = None
    side: Side | None = None
    detail: str | None = None
    defect: str = ""
    severity: int | None = Field(default=None, ge=0, le=5)
    count: int | None = Field(default=None, ge=0)
    size_mm: float | None = Field(default=None, ge=0)
    area_pct: float | None = Field(default=None, ge=0, le=100)
    read_as: str = ""

    @model_validator(mode="after")
    def _says_something(self) -> "Amendment":
        if not self.model_fields_set:
            raise ValueError("says nothing to change")
        return self

    @model_serializer(mode="wrap")
    def _only_what_is_given(self, dump: SerializerFunctionWrapHandler) -> dict[str, Any]:
        return {key: value for key, value in dump(self).items() if key in self.model_fields_set}


class Accept(_Strict):
    """The finding is right as it stands; of a line: it holds no flaw but those in the record."""

    kind: Literal["accept"] = "accept"
    target: str


class Amend(_Strict):
    """The finding is right but for these fields."""

    kind: Literal["amend"] = "amend"
    target: str
    to: Amendment


class Reread(_Strict):
    """What was really said in a finding's phrase or in a line, typed, and understood anew."""

    kind: Literal["reread"] = "reread"
    target: str
    said: str = Field(min_length=1)


class Strike(_Strict):
    """The finding is no finding."""

    kind: Literal["strike"] = "strike"
    target: str


class Merge(_Strict):
    """The finding is one that was spoken of before: a mention of `into`."""

    kind: Literal["merge"] = "merge"
    target: str
    into: str


class Split(_Strict):
    """The finding is several: itself with the first amendment, and a new one for each other."""

    kind: Literal["split"] = "split"
    target: str
    into: list[Amendment] = Field(min_length=2)


class Add(_Strict):
    """A flaw that was missed, at a time in seconds; `finding` names part and defect at least."""

    kind: Literal["add"] = "add"
    at_s: float = Field(ge=0, le=LATEST_S)
    finding: Amendment


class NotAudible(_Strict):
    """Nobody can say what was said in the line; of a finding: in its line, and it is struck."""

    kind: Literal["not_audible"] = "not_audible"
    target: str


class Explain(_Strict):
    """A phrase that the lexicon lacks, and the id of the part or flaw that it stands for."""

    kind: Literal["explain"] = "explain"
    phrase: str = Field(min_length=1)
    names: str


class Reclassify(_Strict):
    """The machine is of this kind, whatever it was taken for."""

    kind: Literal["reclassify"] = "reclassify"
    to: Kind


class Undo(_Strict):
    """Takes back a decision by its number in the journal; without one, the last that stands."""

    kind: Literal["undo"] = "undo"
    number: int | None = None


Decision = Annotated[
    Accept
    | Amend
    | Reread
    | Strike
    | Merge
    | Split
    | Add
    | NotAudible
    | Explain
    | Reclassify
    | Undo,
    Field(discriminator="kind"),
]
_DECISION: TypeAdapter[Decision] = TypeAdapter(Decision)


def read_decisions(text: str, name: str) -> list[Decision]:
    """Decisions from JSON lines; empty lines are passed over.

    Raises ReviewError with the number of the first line that holds none.
    """
    decisions: list[Decision] = []
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        try:
            decisions.append(_DECISION.validate_json(line))
        except ValidationError as error:
            first = error.errors()[0]
            where = ".".join(str(step) for step in first["loc"][1:])
            said = f"{where}: {first['msg']}" if where else first["msg"]
            raise ReviewError(f"{name}: line {number}: {said}") from error
    return decisions


def changes_by(record: Record, decision: Decision, words: "Wordbook") -> list[Change]:
    """What a decision changes in the record and the words; the journal knows what an undo does.

    Raises ReviewError where the decision does not fit: a target that is not there, an id that the
    lexicon lacks, words in which no flaw is understood, a phrase that cannot be added.
    """
    changes: list[Change] = []
    choices = words.choices(record.vehicle.kind)
    match decision:
        case Accept(target=target):
            changes = [_accepted(_item(record, target))]
        case Amend(target=target, to=to):
            finding = _finding(record, target)
            changes = [changed(finding, _amended(finding, to, choices))]
        case Reread(target=target, said=said):
            statements = words.understand_text(said, record.vehicle.kind)
            changes = _reread(record, _item(record, target), said, statements, choices)
        case Strike(target=target):
            finding = _finding(record, target)
            changes = [changed(finding, _settled(finding, "struck"))]
        case Merge(target=target, into=into):
            changes = _merged(_finding(record, target), _finding(record, into))
        case Split(target=target, into=parts):
            changes = _split(record, _finding(record, target), parts, choices)
        case Add(at_s=at_s, finding=to):
            changes = [made(_added(record, at_s, to, choices))]
        case NotAudible(target=target):
            changes = _not_audible(record, _item(record, target))
        case Explain(phrase=phrase, names=names):
            return _explained(record, as_phrase(phrase), names, words)
        case Reclassify(to=to):
            return changes_to(record, words.understand_anew(record, to))
    changes = [change for change in changes if change.before != change.after]
    return [*changes, *_no_longer_unmentioned(record, changes)]


def as_phrase(typed: str) -> str:
    """What was typed as the lexicon writes its phrases: in lower case, without hyphens.

    >>> as_phrase(" Tail-Tidy ")
    'tail tidy'
    """
    return " ".join(typed.lower().replace("-", " ").split())


def _accepted(item: Finding | Line) -> Change:
    if isinstance(item, Line):
        return changed(item, with_fields(item, reviewed="no_finding"))
    status: FindingStatus = "amended" if item.status == "amended" else "confirmed"
    return changed(item, _settled(item, status))


def _settled(finding: Finding, status: FindingStatus, **fields: Any) -> Finding:
    return with_fields(finding, status=status, flags=[], **fields)


def _amended(finding: Finding, to: Amendment, choices: Choices) -> Finding:
    """The finding with the fields set anew and what follows: bases, default grade, caution."""
    fields = to.model_dump()
    if fields.get("part") not in (None, OTHER_PART, *choices.parts):
        raise ReviewError(f"'{to.part}' is no part of the lexicon")
    if fields.get("defect") not in (None, *choices.defects):
        raise ReviewError(f"'{to.defect}' is no defect of the lexicon")
    if "side" in fields:
        fields["side_basis"] = "spoken" if to.side else None
    if "severity" in fields:
        fields["severity_basis"] = "spoken"
    elif "defect" in fields and finding.severity_basis == "default":
        fields["severity"] = None if to.defect in choices.ungraded else _DEFAULT_GRADE
    if {"part", "defect"} & fields.keys():
        part, defect = fields.get("part", finding.part), fields.get("defect", finding.defect)
        fields["caution"] = choices.caution(part, defect, finding.part_said)
    return _settled(finding, "amended", **fields)


def _reread(
    record: Record,
    item: Finding | Line,
    said: str,
    statements: Sequence[Statement],
    choices: Choices,
) -> list[Change]:
    """The first flaw understood takes a finding's place; the others, and a line's, are new.

    What another finding of the line says already is not said anew.
    """
    line_id = item.id if isinstance(item, Line) else item.line_id
    others = [
        finding
        for finding in record.findings
        if finding.line_id == line_id and finding.id != item.id and finding.status != "struck"
    ]
    stated = [
        _stated(statement, choices)
        for statement in statements
        if not any(_says_same(finding, statement) for finding in others)
    ]
    fresh: dict[str, Any]
    if isinstance(item, Line):
        fresh = {"line_id": item.id, "heard": item.text}
        changes = [changed(item, with_fields(item, reviewed="reread", said=said))]
    else:
        if not stated:
            fault = "is in the record already" if statements else "holds no flaw that is understood"
            raise ReviewError(f"'{said}' {fault}")
        fresh = {"line_id": item.line_id, "heard": item.heard}
        changes = [changed(item, _settled(item, "amended", **stated.pop(0)))]
    for key, fields in zip(free_ids(record), stated, strict=False):
        new = Finding(
            id=key,
            start_s=item.start_s,
            end_s=item.end_s,
            confidence=1.0,
            status="confirmed",
            **fresh,
            **fields,
        )
        changes.append(made(new))
    return changes


def _says_same(finding: Finding, statement: Statement) -> bool:
    sides = {finding.side, statement.place.side} - {None}
    same = (finding.part, finding.defect) == (statement.place.part, statement.defect)
    return same and len(sides) < 2


def _stated(statement: Statement, choices: Choices) -> dict[str, Any]:
    return {
        **statement.place.model_dump(),
        "defect": statement.defect,
        "severity": statement.severity,
        "severity_basis": statement.severity_basis,
        "count": statement.count,
        "size_mm": statement.size_mm,
        "area_pct": statement.area_pct,
        "read_as": statement.read_as,
        "caution": choices.caution(
            statement.place.part, statement.defect, statement.place.part_said
        ),
    }


def _merged(finding: Finding, into: Finding) -> list[Change]:
    if finding.id == into.id or into.status == "struck":
        raise ReviewError(f"{finding.id} cannot be a repeat of {into.id}")
    own = Mention(start_s=finding.start_s, end_s=finding.end_s, heard=finding.heard)
    mentions = sorted([*into.mentions, own, *finding.mentions], key=lambda said: said.start_s)
    whole = with_fields(into, mentions=[mention.model_dump() for mention in mentions])
    struck = _settled(finding, "struck", merged_into=into.id)
    return [changed(into, whole), changed(finding, struck)]


def _split(
    record: Record, finding: Finding, parts: Sequence[Amendment], choices: Choices
) -> list[Change]:
    first, *others = (_amended(finding, part, choices) for part in parts)
    fresh = zip(free_ids(record), others, strict=False)
    return [
        changed(finding, first),
        *(made(with_fields(new, id=key, status="confirmed")) for key, new in fresh),
    ]


def _added(record: Record, at_s: float, to: Amendment, choices: Choices) -> Finding:
    if not (to.part and to.defect):
        raise ReviewError("a finding that is added needs a part and a defect")
    line = next((line for line in record.lines if line.start_s <= at_s < line.end_s), None)
    blank = Finding(
        id=next(free_ids(record)),
        part=to.part,
        defect=to.defect,
        start_s=at_s,
        end_s=line.end_s if line else at_s,
        heard=line.text if line else "",
        read_as=line.text if line else "",
        confidence=1.0,
        line_id=line.id if line else None,
    )
    return with_fields(_amended(blank, to, choices), status="confirmed")


def _explained(record: Record, phrase: str, names: str, words: "Wordbook") -> list[Change]:
    """The phrase, unless it is known, and the record as the talk is understood with it."""
    kind = record.vehicle.kind
    choices = words.choices(kind)
    if names not in (*choices.parts, *choices.defects):
        raise ReviewError(f"'{names}' is no part and no defect of the lexicon")
    new = Change(of="lexicon", id=phrase, before=None, after={"names": names})
    added = [] if words.knows(phrase, names, kind) else [new]
    fresh = words.after(added).understand_anew(record, kind)
    same_machine = fresh.model_copy(update={"vehicle": record.vehicle})
    return [*added, *changes_to(record, same_machine)]


def _not_audible(record: Record, item: Finding | Line) -> list[Change]:
    line_id = item.id if isinstance(item, Line) else item.line_id
    lines = [line for line in record.lines if line.id == line_id]
    changes = [changed(line, with_fields(line, reviewed="not_audible")) for line in lines]
    if isinstance(item, Finding):
        changes.append(changed(item, _settled(item, "struck")))
    return changes


def _no_longer_unmentioned(record: Record, changes: Sequence[Change]) -> list[Change]:
    spoken_of = {(change.after or {}).get("part") for change in changes}
    left = [part for part in record.unmentioned if part not in spoken_of]
    if left == record.unmentioned:
        return []
    before, after = {"unmentioned": record.unmentioned}, {"unmentioned": left}
    return [Change(of="record", before=before, after=after)]


def _item(record: Record, target: str) -> Finding | Line:
    items: list[Finding | Line] = [*record.findings, *record.lines]
    found = next((item for item in items if item.id == target), None)
    if found is None:
        raise ReviewError(f"there is no finding or line '{target}' in the record")
    if merged_into := getattr(found, "merged_into", None):
        raise ReviewError(f"{target} is a mention of {merged_into}; take that back first")
    return found


def _finding(record: Record, target: str) -> Finding:
    item = _item(record, target)
    if isinstance(item, Line):
        raise ReviewError(f"'{target}' is a line; this decision is about a finding")
    return item
