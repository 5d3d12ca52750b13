"""What stands for a thing named before: "the left one", "the rear's bald", "light ones"."""

from collections.abc import Sequence
from dataclasses import replace

from pipeline.models import Place
from pipeline.understand.memory import Memory
from pipeline.understand.mood import Mood
from pipeline.understand.plain import words
from pipeline.understand.said import OPPOSITE, OTHER_END
from pipeline.understand.talk import NEGATIONS
from pipeline.understand.terms import Item

_OWNING = words("'s is are has have")
_STANDING_PLACES = words("left right front rear upper lower")
_ANOTHER = words("a an another more second third")
_CLAUSE_STARTS = words(", . ; : and but")
_BEFORE_A_PLACE = words("and on the then now in at but")
_NOTHING = words("nothing fine good clean perfect great okay ok")
_ONES = words("one ones")
_PASSENGERS = words("passenger passenger's pillion")
_TWINS = words("twin mate counterpart fellow partner brother sister companion opposite")
_DENYING = words("isn't doesn't hasn't aren't")
_THERE_IS = words("there's there has got see only just")
_ON = words("on in at")
_PAUSES = words(", the uh um")
_YES = words("yes yeah yep yup sure just only")
_SHORT_ANSWER = 4


def _read_answer(row: list[Item], mood: list[int], memory: Memory) -> None:
    """Puts in the flaw asked for before an answer: "Any rust?" "A little on the axle nut."."""
    said = {item.role for item in row}
    if not memory.asked or said & {"defect", "no_damage"}:
        return
    affirmed = row[0].is_word(_YES)
    denied = any(item.is_word(NEGATIONS) for item in row[:2]) and not affirmed
    told = "part" in said and any(item.is_word(_ON) for item in row)
    if told or affirmed or (denied and len(row) <= _SHORT_ANSWER):
        asked = memory.asked[-1:] if told or "side" in said else memory.asked
        at = 1 if affirmed else 0
        row[at:at] = asked
        mood[at:at] = [Mood.DENIED if denied else Mood.PLAIN] * len(asked)


def _read_flaw_ones(row: list[Item], mood: list[int]) -> None:
    """Reads "no deep scratches, a couple light ones" and "none on the wheels" as a denied flaw."""
    flaw: Item | None = None
    denied = False
    for index, item in enumerate(row):
        if item.role == "defect":
            flaw = item
            denied = bool(mood[index] & Mood.DENIED)
        elif flaw is not None and (
            _has_none(row, index)
            or (_is_flaw_one(row, index) if denied else _is_one_more(row, index))
        ):
            plural = not item.is_word(("one",))
            row[index] = replace(
                flaw, start=item.start, end=item.end, text=item.text, plural=plural
            )
            if item.is_word(("none",)):
                mood[index] |= Mood.DENIED


def _read_twins(row: list[Item]) -> None:
    """Reads "its counterpart on the right is missing" as "the other one on the right ..."."""
    for index in range(1, len(row)):
        opens = index == 1 or row[index - 2].is_word(_CLAUSE_STARTS)
        if opens and row[index].is_word(_TWINS) and row[index - 1].is_word(("its", "the")):
            row[index - 1] = replace(row[index - 1], id="other", text="other")
            row[index] = replace(row[index], id="one", text="one")


def _has_none(row: Sequence[Item], index: int) -> bool:
    """Whether a part is denied the flaw said before: "the lower fairing has none"."""
    after = row[index + 1 : index + 2]
    has = index > 1 and row[index - 1].is_word(_OWNING | {"got"})
    return has and row[index].is_word(("none",)) and bool(after) and after[0].is_word((",", "."))


def _is_one_more(row: Sequence[Item], index: int) -> bool:
    """Whether "one" is another such flaw: "a chip on the tank and one on the fender"."""
    joined = index > 0 and row[index - 1].is_word(("and", ","))
    after = row[index + 1 : index + 3]
    placed = (
        len(after) == 2 and after[0].is_word(("on", "in")) and after[1].is_word(("the", "this"))
    )
    return row[index].is_word(("one",)) and joined and placed


def _is_flaw_one(row: Sequence[Item], index: int) -> bool:
    """Whether an item stands for a flaw named before it, not for a part."""
    item, before, after = row[index], row[index - 1], row[index + 1 : index + 2]
    if item.is_word(_ONES):
        counted = before.role in ("qualifier", "number") and not row[index - 2].is_word(_ANOTHER)
        return counted or before.is_word(_THERE_IS)
    some = item.is_word(("none", "plenty", "more"))
    return some and bool(after) and after[0].is_word(("on", "in", "at"))


def resolve_ones(number: int, row: list[Item], mood: list[int], memory: Memory) -> None:
    """Reads "the left one", "the other one" and "the left is" as the part last spoken of."""
    _read_answer(row, mood, memory)
    _read_flaw_ones(row, mood)
    _read_twins(row)
    recent = memory.has_focus(number)
    if not recent and not any(item.role == "part" for item in row):
        return
    part: str | None = None
    if recent:
        part = memory.focus[-1].part
        _name_bare_place(row, mood, memory.focus[-1])
    if not any(item.role in ("side", "position") or item.is_word(_ONES) for item in row):
        return
    named = False
    for index, item in enumerate(row):  # also over what is put in
        if item.role == "part":
            part, named = item.id, True
        elif part is None:
            continue
        elif part == "seat" and _is_passengers(row, index):
            part = "passenger_seat"
            row[index] = Item("part", part, item.start, item.end, item.text)
            row[index - 1] = replace(row[index - 1], role="word", id="~")  # no side here
        elif named and _is_the_other(row, index):
            _name_the_other(row, mood, index, part)
        elif _is_one(row, index):
            row[index] = Item("part", part, item.start, item.end, item.text)
            _drop_topic(row, index)
        elif _is_side_for_a_part(row, index):
            row.insert(index + 1, Item("part", part, item.start, item.end, item.text))
            mood.insert(index + 1, mood[index])


def _name_bare_place(row: list[Item], mood: list[int], last: Place) -> None:
    """Puts in the part left unsaid in "right rear: fine", where the last place was the left one."""
    at = _bare_place(row)
    if at is None or not _is_other(row[:at], last):
        return
    if row[at + 1].is_word(("nothing",)):
        row[at + 1] = replace(row[at + 1], role="no_damage")
    before = row[at - 1]
    row.insert(at, Item("part", last.part, before.start, before.end, before.text))
    mood.insert(at, mood[at - 1])


def _bare_place(row: Sequence[Item]) -> int | None:
    """Where the part is left unsaid in "right rear: fine", "on the right, nothing"."""
    if any(item.role == "part" for item in row):
        return None
    start = next((i for i, item in enumerate(row) if not item.is_word(_BEFORE_A_PLACE)), 0)
    stop = start
    while stop < len(row) and row[stop].role in ("side", "position"):
        stop += 1
    told = row[stop + 1 : stop + 2]
    ends = stop > start and stop < len(row) and row[stop].is_word((":", ",", "-", "–"))
    if not ends or not told:
        return None
    return stop if told[0].role in ("defect", "no_damage") or told[0].is_word(_NOTHING) else None


def _is_other(row: Sequence[Item], place: Place) -> bool:
    """Whether some items name the other one of a pair."""
    said = {item.id for item in row if item.role in ("side", "position")}
    return bool(said & {OPPOSITE.get(place.side or ""), OTHER_END.get(place.position or "")})


def _is_one(row: Sequence[Item], index: int) -> bool:
    if not row[index].is_word(_ONES):
        return False
    if any(item.is_word(_ANOTHER) for item in row[max(0, index - 2) : index]):
        return False  # "a smaller one on the tank" is a flaw
    placed = index > 0 and row[index - 1].role in ("side", "position")
    pointed = index + 1 < len(row) and row[index + 1].is_word(("on", "at", "in"))
    return placed or pointed


def _is_passengers(row: Sequence[Item], index: int) -> bool:
    """Whether it is the passenger's: "seat's torn, the passenger one is good"."""
    return row[index].is_word(_ONES) and index > 0 and row[index - 1].text in _PASSENGERS


def _is_the_other(row: Sequence[Item], index: int) -> bool:
    """Whether "the other (one)" is the other of a pair: "the left grip's torn, the other is ok"."""
    if not row[index].is_word(("other",)) or not row[index - 1].is_word(("the",)):
        return False
    opens = index > 1 and row[index - 2].is_word(_CLAUSE_STARTS)
    after = row[index + 1 : index + 3]
    if after and after[0].is_word(("one",)):
        after = after[1:]
    return opens and bool(after) and _owns(after[0])


def _name_the_other(row: list[Item], mood: list[int], index: int, part: str) -> None:
    """Puts the place and the part in for "the other (one)", where the first one's is told."""
    told = [item for item in row[:index] if item.role in ("side", "position")]
    across: dict[str, str] = {**OPPOSITE, **OTHER_END}
    place = next((i for i in reversed(told) if i.id in across), None)
    if place is None:
        return
    item = row[index]
    row[index] = replace(item, role=place.role, id=across[place.id])
    if not row[index + 1].is_word(("one",)):
        row.insert(index + 1, item)
        mood.insert(index + 1, mood[index])
    one = row[index + 1]
    row[index + 1] = Item("part", part, one.start, one.end, one.text)


def _owns(item: Item) -> bool:
    """Whether an item is a verb that tells how a thing is, or opens with one: "is okay"."""
    known = item.role in ("word", "no_damage", "defect")
    return known and item.text.split(" ")[0] in _OWNING | _DENYING


def _is_side_for_a_part(row: Sequence[Item], index: int) -> bool:
    """Whether a place stands for the part there: "the left is cracked", "the rear's bald"."""
    if row[index].role not in ("side", "position") or index + 1 == len(row):
        return False
    if row[index].id not in _STANDING_PLACES or _clause_names_a_part(row, index):
        return False
    listed = index > 0 and row[index - 1].is_word((",", ":"))
    told = listed and row[index + 1].role in ("defect", "no_damage")
    return told or _owns(row[index + 1])


def _clause_names_a_part(row: Sequence[Item], stop: int) -> bool:
    for item in reversed(row[max(0, stop - 4) : stop]):
        if item.is_word(_CLAUSE_STARTS):
            return False
        if item.role == "part":
            return True
    return False


def _drop_topic(row: list[Item], index: int) -> None:
    """Lets "the fender, the front one," name one fender, not two."""
    for i in range(max(0, index - 5), index):
        between = row[i + 1 : index]
        if (
            row[i].role == "part"
            and row[i].id == row[index].id
            and between[0].is_word((",",))
            and all(
                other.role in ("side", "position") or other.is_word(_PAUSES) for other in between
            )
        ):
            row[i] = replace(row[i], role="word", id="~")
