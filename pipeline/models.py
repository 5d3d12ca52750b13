"""Every type that two steps share. The findings file is `Record`, the source of its JSON Schema.

    Audio ─► Transcript(Line(Word)) ─► Understanding(Statement) ─► Record(Finding)

Times are seconds from the start of the media, on the media's own clock. Ids of parts, defects,
positions and sides are those of the lexicon. Fields that may be missing say so by their type.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field
from typing_extensions import TypedDict

from pipeline.times import Interval

SCHEMA = "wearword/findings/1"

Side = Literal["left", "right", "both"]
SideBasis = Literal["spoken", "inferred"]
SeverityBasis = Literal["spoken", "area", "default"]
Position = Literal["front", "rear", "upper", "lower", "inner", "outer", "center"]
FindingStatus = Literal["clear", "flagged", "confirmed", "amended", "struck"]
REVIEWED = frozenset[FindingStatus](("confirmed", "amended", "struck"))
LineStatus = Literal["heard", "doubtful", "unheard"]
Kind = Literal["motorcycle", "side_by_side", "snowmobile", "watercraft"]
TranscriptOrigin = Literal["recogniser", "webvtt", "subrip", "recogniser_json", "plain_text"]


class Model(BaseModel):
    """Base of the record's types: unknown fields of a newer program survive a round trip."""

    model_config = ConfigDict(extra="allow")


# --- what is heard ------------------------------------------------------------------------------


@dataclass(frozen=True)
class Audio:
    """Mono sound on the media's clock: sample `i` is heard at `i / rate` seconds of the media.

    `samples` is float32 in [-1, 1], shape (n,). Stretches the media has no sound for are zeros.
    """

    samples: NDArray[np.float32]
    rate: int

    @property
    def duration_s(self) -> float:
        """Length in seconds."""
        return len(self.samples) / self.rate


class Word(Model):
    """One word as transcribed, with its time; no probability where captions gave the text.

    `read_as` is what the word is taken to mean where that is not its text: other words, or an empty
    string where it belongs to the word before it.
    """

    text: str
    read_as: str | None = None
    start_s: float
    end_s: float
    probability: float | None = None
    repaired_time: bool = False

    @property
    def read(self) -> str:
        """What it is taken to mean."""
        return self.text if self.read_as is None else self.read_as


HEARD_AGAIN, LEARNED = "words", "learned"  # roles of repairs that are no phrase of the lexicon


class Repair(Model):
    """One way to read words `first` to `end` (exclusive) of a line.

    `role` and `id` are those of the lexicon's phrase that the words sound like, or `role` says that
    a second listener heard them so (HEARD_AGAIN) or that corrections taught it (LEARNED), and `id`
    is empty. `probability` that this was said; `distance` in sound, from
    0 to 1; `margin` in nats: by how much the recording prefers it to what was heard, None where
    captions are all there is. `taken`: the words are read so.
    """

    first: int
    end: int
    heard: str
    read_as: str
    role: str
    id: str
    probability: float
    distance: float
    margin: float | None = None
    taken: bool = False


class Line(Model):
    """One timed line of talk: what a person would caption. `flags` are codes of `weigh.flags`.

    `confidence` that no flaw spoken of in it was missed, 0 to 1, once it has been weighed, by the
    clues in `evidence`.
    """

    id: str
    start_s: float
    end_s: float
    text: str
    words: list[Word] = Field(default_factory=list)
    status: LineStatus = "heard"
    flags: list[str] = Field(default_factory=list)
    confidence: float | None = None
    evidence: dict[str, float] = Field(default_factory=dict)
    repairs: list[Repair] = Field(default_factory=list)

    @property
    def interval(self) -> Interval:
        """When the line is spoken."""
        return Interval(start_s=self.start_s, end_s=self.end_s)


class Transcript(Model):
    """All lines in time order. Voiced stretches with no words are lines of status `unheard`."""

    origin: TranscriptOrigin
    lines: list[Line]
    duration_s: float


# --- what is meant ------------------------------------------------------------------------------


class Place(Model):
    """Where on the machine: a part, and which one of its kind."""

    part: str
    position: Position | None = None
    side: Side | None = None
    side_basis: SideBasis | None = None
    part_said: str | None = None
    detail: str | None = None


class Mention(Model):
    """One time a flaw is spoken of."""

    start_s: float
    end_s: float
    heard: str

    @property
    def interval(self) -> Interval:
        """When it is said."""
        return Interval(start_s=self.start_s, end_s=self.end_s)


class Statement(Model):
    """One flaw as the words state it, before anything is weighed.

    `words` are those of the phrase, in time order, as heard, and `lead` those said just before that
    it takes its part from, where another flaw stands between; `read_as` differs from `words` only
    where a near spelling or sound was read. `closeness` is how near the words are to lexicon
    phrases, 1 where they are equal. `notes` are flag codes that the understanding raises by itself,
    `clues` what makes it less sure of itself, each from 0 to 1.
    """

    place: Place
    defect: str
    severity: int | None
    severity_basis: SeverityBasis
    count: int | None = None
    size_mm: float | None = None
    area_pct: float | None = None
    amount_said: str | None = None
    line_id: str
    words: list[Word]
    lead: list[Word] = Field(default_factory=list)
    read_as: str
    closeness: float = 1.0
    notes: list[str] = Field(default_factory=list)
    clues: dict[str, float] = Field(default_factory=dict)
    mentions: list[Mention] = Field(default_factory=list)

    @property
    def heard(self) -> str:
        """The phrase as transcribed."""
        return " ".join(word.text for word in self.words)

    @property
    def interval(self) -> Interval:
        """When the phrase is spoken."""
        return Interval(start_s=self.words[0].start_s, end_s=self.words[-1].end_s)

    @property
    def basis(self) -> list[Word]:
        """All words that it is read from."""
        return [*self.lead, *self.words]

    @property
    def basis_interval(self) -> Interval:
        """When all words that it is read from are spoken."""
        return Interval(start_s=self.basis[0].start_s, end_s=self.words[-1].end_s)


class CleanPart(Model):
    """A part that the speaker called free of damage, and when."""

    part: str
    position: Position | None = None
    side: Side | None = None
    start_s: float
    end_s: float

    @property
    def interval(self) -> Interval:
        """When it is said."""
        return Interval(start_s=self.start_s, end_s=self.end_s)


class Odometer(Model):
    """Distance or running time as spoken."""

    value: float
    unit: Literal["mi", "km", "h"]


class TireDate(Model):
    """A tire's date code as spoken; week and year are None where the code does not tell them."""

    code: str
    week: int | None = None
    year: int | None = None
    position: Position | None = None


class Vehicle(Model):
    """What the talk says about the machine, never guessed. `vin_valid` is the check digit's.

    `kind_basis`: the kind was given before, told by the talk, assumed, or put right in review.
    """

    kind: Kind
    kind_basis: Literal["given", "talk", "default", "reviewed"] = "given"
    year: int | None = None
    make: str | None = None
    model: str | None = None
    vin: str | None = None
    vin_valid: bool | None = None
    stock_number: str | None = None
    odometer: Odometer | None = None
    hours: float | None = None
    tires: list[TireDate] = Field(default_factory=list)
    flags: list[str] = Field(default_factory=list)


class Understanding(Model):
    """All that the words mean: flaws, clean parts, the header, and what nobody spoke of.

    Of lines, by their ids: `line_flags` are codes of reasons to look, `line_clues` what may hide a
    flaw, each from 0 to 1.
    """

    vehicle: Vehicle
    statements: list[Statement]
    clean: list[CleanPart]
    unmentioned: list[str]
    line_flags: dict[str, list[str]] = Field(default_factory=dict)
    line_clues: dict[str, dict[str, float]] = Field(default_factory=dict)


# --- the record ---------------------------------------------------------------------------------


class Source(Model):
    """The recording that the record was made from; the caption file where there is none.

    `above_noise_db` is by how many dB its talk stands above its noise, where it was listened to.
    """

    file_name: str
    sha256: str
    duration_s: float
    has_recording: bool = True
    has_video: bool
    recorded_at: datetime | None = None
    transcript_origin: TranscriptOrigin
    above_noise_db: float | None = None


class Reading(TypedDict):
    """Another way to read a finding's words, `margin` nats behind the one taken, where known."""

    text: str
    part: str
    defect: str
    margin: float | None


class Finding(Model):
    """One flaw in the record, in the contract's fields; `Statement` is how the words gave it."""

    id: str
    part: str
    position: Position | None = None
    side: Side | None = None
    side_basis: SideBasis | None = None
    part_said: str | None = None
    detail: str | None = None
    defect: str
    severity: int | None = Field(default=None, ge=0, le=5)
    severity_basis: SeverityBasis = "default"
    count: int | None = Field(default=None, ge=0)
    size_mm: float | None = Field(default=None, ge=0)
    area_pct: float | None = Field(default=None, ge=0, le=100)
    start_s: float
    end_s: float
    heard: str
    read_as: str
    confidence: float = Field(ge=0, le=1)
    flags: list[str] = Field(default_factory=list)
    status: FindingStatus = "clear"
    mentions: list[Mention] = Field(default_factory=list)
    caution: str | None = None
    still: str | None = None
    line_id: str | None = None
    evidence: dict[str, float] = Field(default_factory=dict)
    readings: Any = Field(default_factory=list)  # of Reading; a reader passes over what is none

    @property
    def interval(self) -> Interval:
        """When the phrase is spoken."""
        return Interval(start_s=self.start_s, end_s=self.end_s)


class Settings(Model):
    """What was run, so that a record can be made again.

    `second_model` heard again what `speech_model` was unsure of, up to `listen_again_share` of the
    recording's length. `shop_lexicon` stands for a shop's own words, `learned` for the corrections
    that words were read by.
    """

    program_version: str
    lexicon: str
    lexicon_version: str
    shop_lexicon: str | None = None
    speech_model: str | None = None
    second_model: str | None = None
    listen_again_share: float | None = None
    learned: str | None = None
    thresholds: dict[str, float] = Field(default_factory=dict)


class Record(Model):
    """The findings file."""

    model_config = ConfigDict(extra="allow", populate_by_name=True)

    schema_: str = Field(default=SCHEMA, alias="schema")
    source: Source
    vehicle: Vehicle
    findings: list[Finding]
    clean: list[CleanPart]
    unmentioned: list[str]
    lines: list[Line]
    settings: Settings

    def to_json(self) -> dict[str, Any]:
        """The record as JSON-ready values, in the contract's field names and order."""
        return self.model_dump(mode="json", by_alias=True)
