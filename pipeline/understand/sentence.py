"""One sentence laid out for reading: its items, how each is meant, its groups and its places."""

from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass, field

from pipeline.understand.mood import Mood
from pipeline.understand.pairing import Group, flaw_groups, part_groups
from pipeline.understand.phrasing import PhraseSet, flat_words
from pipeline.understand.places import Spot, spot
from pipeline.understand.said import Target
from pipeline.understand.terms import Item


@dataclass(slots=True)
class Sentence:
    """A row of items with what is read off it at once.

    `flat` are its words and `owner` the item of each; `parts` and `flaws` its groups (see
    `pairing`), imagined flaws left out; `spots` the place words of each part item; `loose` the
    indexes of sides and positions that belong to no part. `targets` are the places that each part
    item stands for, once the walk is known (see `walk`).
    """

    number: int
    row: Sequence[Item]
    mood: Sequence[int]
    flat: list[str]
    owner: Sequence[int]
    parts: list[Group]
    flaws: list[Group]
    spots: dict[int, Spot]
    loose: list[int]
    targets: dict[int, list[Target]] = field(default_factory=dict)
    _cues: dict[PhraseSet, int | None] = field(default_factory=dict)

    def cue(self, cues: PhraseSet) -> int | None:
        """The index of the first item of the first cue phrase in the sentence."""
        if cues not in self._cues:
            self._cues[cues] = next((self.owner[start] for start, _ in cues.find(self.flat)), None)
        return self._cues[cues]

    def any_word(self, start: int, stop: int, wanted: Iterable[str]) -> bool:
        """Whether one of some plain words stands between two indexes (`stop` excluded)."""
        return any(item.is_word(wanted) for item in self.row[max(0, start) : stop])

    def loose_of(self, role: str) -> list[int]:
        """The loose places of one role, "side" or "position"."""
        return [i for i in self.loose if self.row[i].role == role]

    def targets_of(self, parts: Group) -> list[Target]:
        """The places that a group of parts stands for."""
        return [target for i in parts.members for target in self.targets[i]]


def lay_out(number: int, row: Sequence[Item], mood: Sequence[int]) -> Sentence:
    """The sentence of a row, before the walk has told its targets."""
    flat, owner = flat_words(row)
    spots = {i: spot(row, i) for i, item in enumerate(row) if item.role == "part"}
    parts = part_groups(row)
    heads = {i for group in parts for i in group.members}
    used = {i for part, where in spots.items() for i in _own_places(row, part, where, heads)}
    return Sentence(
        number=number,
        row=row,
        mood=mood,
        flat=flat,
        owner=owner,
        parts=parts,
        flaws=[group for group in flaw_groups(row) if is_meant(group, mood)],
        spots=spots,
        loose=[
            i
            for i, item in enumerate(row)
            if item.role in ("side", "position") and i not in used and not mood[i] & Mood.IMAGINED
        ],
    )


def _own_places(row: Sequence[Item], part: int, where: Spot, heads: Container[int]) -> range:
    """The indexes of the place words that tell which one of a part is meant.

    The others tell where a flaw is: "behind the seat on the right", "on the outside of the can".
    """
    if part in heads:
        return range(where.first, where.last + 1)
    named = any(row[i].id == row[part].id for i in range(part) if i in heads)
    return range(part, part) if named else range(where.first, part + 1)


def is_meant(group: Group, mood: Sequence[int]) -> bool:
    """Whether a group of flaws is talk of this machine's flaws, not of "if it would rust"."""
    return all(not mood[i] & Mood.IMAGINED for i in group.members)
