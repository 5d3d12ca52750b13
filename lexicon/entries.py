"""What a lexicon file may hold: the pydantic models of `lexicon/data/*.toml` and of a shop's own.

A phrase is written once, in lower case, singular where it is a noun. Three marks save copies:

- `saddle~bag` stands for "saddlebag" and "saddle bag" (a hyphen in text counts as a space);
- `rust!` stands as written, no plural is made of it;
- `can?` is weak: an ordinary English word too, which needs a neighbour to count.

Plurals of parts, nouns and details are made by rule; see `lexicon.expand`.
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
Grade = Literal["1", "2", "3", "4", "5"]
PositionId = Literal["front", "rear", "upper", "lower", "inner", "outer", "center"]
SideId = Literal["left", "right", "both"]


class Entry(BaseModel):
    """Base: an unknown field is a typo, and is refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class PartEntry(Entry):
    """A part: the words for it, and what is known of it.

    `one_side`: the only side it exists on (rider's left or right). `paired`: it has a left and a
    right one ("both mirrors"). `centre_line`: it sits in the middle, so the side where the speaker
    stands says nothing of it. `axle_pair`: there is a front and a rear one ("both wheels").
    `materials`: what it is usually made of, the chief one first.
    """

    phrases: list[str] = Field(min_length=1)
    area: Area
    materials: list[Material] = Field(default_factory=list)
    one_side: Literal["left", "right"] | None = None
    paired: bool = False
    centre_line: bool = False
    axle_pair: bool = False
    caution: CautionGroup | None = None


class PartChange(Entry):
    """What a kind's file says of a part: `phrases` add to the common ones, other fields replace."""

    phrases: list[str] = Field(default_factory=list)
    area: Area | None = None
    materials: list[Material] | None = None
    one_side: Literal["left", "right"] | None = None
    paired: bool | None = None
    centre_line: bool | None = None
    axle_pair: bool | None = None
    caution: CautionGroup | None = None


class DefectEntry(Entry):
    """A flaw: nouns ("scratch"; plurals by rule) and forms said of a part ("scratched", "rusty").

    `on`: words that mean this flaw on parts chiefly of that material, and another one elsewhere
    ("split": a crack, on leather a tear). `never_on`: materials that cannot show it. `caution_on`:
    caution groups of parts on which this flaw should be looked at by a technician; `["*"]` stands
    for every part with a caution group.
    """

    nouns: list[str] = Field(default_factory=list)
    forms: list[str] = Field(default_factory=list)
    on: dict[Material, list[str]] = Field(default_factory=dict)
    group: DefectGroup
    never_on: list[Material] = Field(default_factory=list)
    caution_on: list[CautionGroup | Literal["*"]] = Field(default_factory=list)


class KindEntry(Entry):
    """One kind of machine: the words that give it away, and the parts a walkaround should cover."""

    title: str
    cues: list[str] = Field(min_length=1)
    checklist: list[str] = Field(min_length=1)


class WordsEntry(Entry):
    """Words that are neither part nor flaw. Grades are those of the contract, 1 to 5.

    `things`: what a speaker may name that is no part of the lexicon's ("cup holder"): it becomes
    part `other`, whole, instead of a word in it being taken for a part. `caution_things`: things
    on which a flaw can hurt someone, by the caution group that a part would have. `qualifiers`:
    grade -> phrases. `positions` and `sides`: id -> phrases. `details`: words that narrow a spot
    ("leading edge", "seam", "housing"). `no_damage`: phrases that call a part free of damage ("is
    clean", "looks great"). `damage`: words for damage of no particular sort ("issues", "anything").
    `sizes_mm`: things used as a measure -> largest dimension in millimetres. `hotwords`: terms
    worth telling the recogniser, best first.
    """

    things: list[str] = Field(default_factory=list)
    caution_things: dict[CautionGroup, list[str]] = Field(default_factory=dict)
    qualifiers: dict[Grade, list[str]] = Field(default_factory=dict)
    positions: dict[PositionId, list[str]] = Field(default_factory=dict)
    sides: dict[SideId, list[str]] = Field(default_factory=dict)
    details: list[str] = Field(default_factory=list)
    no_damage: list[str] = Field(default_factory=list)
    damage: list[str] = Field(default_factory=list)
    sizes_mm: dict[str, float] = Field(default_factory=dict)
    hotwords: list[str] = Field(default_factory=list)


class CommonFile(Entry):
    """`common.toml`: what all kinds share."""

    version: str
    parts: dict[str, PartEntry]
    defects: dict[str, DefectEntry]
    words: WordsEntry


class KindFile(Entry):
    """A kind's file. It takes every common part but those it `leaves_out`, and adds its own."""

    kind: KindEntry
    leaves_out: list[str] = Field(default_factory=list)
    parts: dict[str, PartChange] = Field(default_factory=dict)
    words: WordsEntry = Field(default_factory=WordsEntry)


class ExtraFile(Entry):
    """A shop's own file (`--lexicon`): more phrases for known ids, and new parts.

    One file serves all kinds: what it says of a part that the kind at hand lacks is passed over.
    """

    version: str = "0"
    part_phrases: dict[str, list[str]] = Field(default_factory=dict)
    defect_phrases: dict[str, list[str]] = Field(default_factory=dict)
    parts: dict[str, PartEntry] = Field(default_factory=dict)
