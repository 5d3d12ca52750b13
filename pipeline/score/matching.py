"""Which stated thing stands for which true one: each for one at most, the nearest first."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

from pipeline.models import Position, Side
from pipeline.times import Interval

T = TypeVar("T")
F = TypeVar("F")

Cost = tuple[float, ...]


@dataclass(frozen=True)
class Matching(Generic[T, F]):
    """The pairs (true, found), what was missed, and what is stated and not true."""

    pairs: list[tuple[T, F]]
    missed: list[T]
    wrong: list[F]


class Placed(Protocol):
    """A thing with a place on the machine."""

    @property
    def part(self) -> str:
        """Id of the part."""

    @property
    def position(self) -> Position | None:
        """Which one of its kind, along the machine."""

    @property
    def side(self) -> Side | None:
        """The rider's left or right."""


def match(
    true: Sequence[T], found: Sequence[F], cost: Callable[[T, F], Cost | None]
) -> Matching[T, F]:
    """Pairs true things with found ones, the cheapest pair first; a cost of None never pairs."""
    costs = (
        (price, i, j)
        for i, one in enumerate(true)
        for j, other in enumerate(found)
        if (price := cost(one, other)) is not None
    )
    partner: dict[int, int] = {}
    taken: set[int] = set()
    for _, i, j in sorted(costs):
        if i not in partner and j not in taken:
            partner[i] = j
            taken.add(j)
    return Matching(
        pairs=[(true[i], found[j]) for i, j in sorted(partner.items())],
        missed=[one for i, one in enumerate(true) if i not in partner],
        wrong=[other for j, other in enumerate(found) if j not in taken],
    )


def nearness(one: Placed, when: Interval, other: Placed, other_when: Interval) -> Cost:
    """The cost of a pair: seconds between them, then unequal place, then seconds between starts.

    Flaws of one phrase overlap whichever of its words each is timed by, so there the place decides.
    """
    unequal = (one.position != other.position) + (one.side != other.side)
    return when.gap_s(other_when), unequal, abs(when.start_s - other_when.start_s)


def same_place(one: Placed, other: Placed) -> bool:
    """Whether part, position and side are all equal."""
    return (one.part, one.position, one.side) == (other.part, other.position, other.side)


def within(place: Placed, places: Iterable[Placed]) -> bool:
    """Whether a place is, or may be, among others; what one of the two leaves unsaid fits any."""
    return any(
        place.part == other.part
        and (None in (place.position, other.position) or place.position == other.position)
        and (bool({None, "both"} & {place.side, other.side}) or place.side == other.side)
        for other in places
    )
