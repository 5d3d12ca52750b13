"""What is said: flaws and clean parts of places, still as items of their sentence."""

from dataclasses import dataclass, field

from pipeline.models import Place, Position, Side
from pipeline.understand.terms import Item

OPPOSITE: dict[str, Side] = {"left": "right", "right": "left"}
OTHER_END: dict[str, Position] = {
    "front": "rear", "rear": "front", "upper": "lower", "lower": "upper", "inner": "outer",
    "outer": "inner",
}  # fmt: skip


@dataclass(slots=True)
class Target:
    """A place a flaw is said of, and the items of the sentence that name it (empty if implied)."""

    place: Place
    items: list[int] = field(default_factory=list)


@dataclass(slots=True)
class Flaw:
    """One flaw said of one place, with everything said of its degree, as item indexes and values.

    `items[0]` is the flaw's own item. `referred`: told as spoken of before ("that dent I
    mentioned"); `definite`: "the dent"; `again`: in a sentence that refers back ("as I said");
    `state`: told as how a thing is ("is bent"), which is not so twice; `another`: "another dent",
    so not one spoken of before; `renamed`: only called by its name ("it's a cut"). `clues` say what
    makes it less sure that it was read aright, each from 0 to 1.
    """

    sentence: int
    defect: Item
    target: Target
    qualifiers: list[int] = field(default_factory=list)
    count: int | None = None
    size_mm: float | None = None
    area_pct: float | None = None
    amount_said: list[str] = field(default_factory=list)
    items: list[int] = field(default_factory=list)
    doubted: bool = False
    referred: bool = False
    definite: bool = False
    again: bool = False
    state: bool = False
    another: bool = False
    renamed: bool = False
    clues: dict[str, float] = field(default_factory=dict)


@dataclass(slots=True)
class Clean:
    """A part called free of damage."""

    sentence: int
    target: Target
    items: list[int]


@dataclass(slots=True)
class Said:
    """All that was said: flaws, clean parts, sentences that refer to something never heard, and
    those in which a flaw is contested."""

    flaws: list[Flaw] = field(default_factory=list)
    clean: list[Clean] = field(default_factory=list)
    unresolved: list[int] = field(default_factory=list)
    contested: list[int] = field(default_factory=list)


def flipped(place: Place) -> Place:
    """The other one of a pair: the other side, or the other end where no side is known."""
    if place.side in OPPOSITE:
        return place.model_copy(update={"side": OPPOSITE[place.side], "side_basis": "inferred"})
    if place.position in OTHER_END:
        return place.model_copy(update={"position": OTHER_END[place.position]})
    return place


def same_place(a: Place, b: Place) -> bool:
    """Whether two places are one; words and details aside."""
    return (a.part, a.position, a.side) == (b.part, b.position, b.side)
