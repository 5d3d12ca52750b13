"""What a lexicon file may hold: the pydantic models of `lexicon/data/*.toml` and of a shop's own.

A phrase is written once, in lower case, singular where it is a noun:

- `saddle~bag` stands for "saddlebag", "saddle bag" and "saddle-bag";
- parts' and nouns' plurals are made by rule ("s", "es", "ies"); others are written out.
"""

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

Material = Literal["paint", "chrome", "metal", "plastic", "leather", "rubber", "glass", "fabric"]
Area = Literal[
    "front",
    "body",
    "controls",
    "lights_glass",
    "seating_luggage",
    "engine",
    "exhaust",
    "frame",
    "running_gear",
    "electrical",
]
CautionGroup = Literal[
    "brakes",
    "tires",
    "wheels",
    "fork",
    "frame",
    "steering",
    "fuel",
    "throttle",
    "drive",
    "lights",
    "hull",
]
DefectGroup = Literal["finish", "metal", "shape", "soft_goods", "general", "fluids", "history"]


class Entry(BaseModel):
    """Base: an unknown field is a typo, and is refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class PartEntry(Entry):
    """A part: the words for it, and what is known of it.

    `one_side`: the only side it exists on (rider's left or right). `paired`: it has a left and a
    right one ("both mirrors"). `centre_line`: it sits in the middle, so the side where the speaker
    stands says nothing of it. `axle_pair`: there is a front and a rear one ("both wheels").
    `materials`: what it is usually made of, for impossible flaws.
    """

    phrases: list[str] = Field(min_length=1)
    area: Area
    materials: list[Material] = Field(default_factory=list)
    one_side: Literal["left", "right"] | None = None
    paired: bool = False
    centre_line: bool = False
    axle_pair: bool = False
    caution: CautionGroup | None = None


class DefectEntry(Entry):
    """A flaw: nouns ("scratch"; plurals by rule) and forms said of a part ("scratched", "rusty").

    `never_on`: materials that cannot show it. `caution_on`: caution groups of parts on which this
    flaw can hurt someone; `["*"]` stands for every part that has a caution group.
    """

    nouns: list[str] = Field(default_factory=list)
    forms: list[str] = Field(default_factory=list)
    group: DefectGroup
    never_on: list[Material] = Field(default_factory=list)
    caution_on: list[str] = Field(default_factory=list)


class KindEntry(Entry):
    """One kind of machine: the words that give it away, its walkaround checklist, its own sides."""

    title: str
    cues: list[str] = Field(min_length=1)
    checklist: list[str] = Field(min_length=1)


class WordsEntry(Entry):
    """Words that are neither part nor flaw. Grades are those of the contract, 1 to 5.

    `qualifiers`: grade -> phrases. `positions` and `sides`: id -> phrases ("up front", "driver's
    side" is not one: left and right are the rider's). `details`: words that narrow a spot ("leading
    edge", "seam", "housing"). `no_damage`: phrases that call a part free of damage ("is clean",
    "looks great"). `damage`: words for damage of no particular sort ("issues", "anything").
    `sizes_mm`: things used as a measure -> millimetres. `hotwords`: extra terms for the recogniser.
    """

    qualifiers: dict[Literal["1", "2", "3", "4", "5"], list[str]] = Field(default_factory=dict)
    positions: dict[str, list[str]] = Field(default_factory=dict)
    sides: dict[str, list[str]] = Field(default_factory=dict)
    details: list[str] = Field(default_factory=list)
    no_damage: list[str] = Field(default_factory=list)
    damage: list[str] = Field(default_factory=list)
    sizes_mm: dict[str, float] = Field(default_factory=dict)
    hotwords: list[str] = Field(default_factory=list)


class LexiconFile(Entry):
    """One TOML file. `parts` of a kind's file add to or narrow those of the common file."""

    version: str
    kind: KindEntry | None = None
    parts: dict[str, PartEntry] = Field(default_factory=dict)
    defects: dict[str, DefectEntry] = Field(default_factory=dict)
    words: WordsEntry = Field(default_factory=WordsEntry)


class ExtraFile(Entry):
    """A shop's own file (`--lexicon`): more phrases for known ids, new parts, learned readings."""

    version: str = "0"
    part_phrases: dict[str, list[str]] = Field(default_factory=dict)
    defect_phrases: dict[str, list[str]] = Field(default_factory=dict)
    parts: dict[str, PartEntry] = Field(default_factory=dict)
