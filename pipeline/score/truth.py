"""Truth files: what a narration says, sentence by sentence, and what it states of the machine.

Written by hand as TOML; `tests/narrations/README.md` has the conventions. A rendered recording
has a sibling JSON file of the same models with every sentence's time filled in.
"""

import tomllib
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from pipeline.errors import TruthError
from pipeline.models import Kind, Odometer, Position, Side

HISTORY = frozenset({"repaint", "touch_up", "prior_repair", "replaced_part", "color_mismatch"})


class Strict(BaseModel):
    """Base: an unknown field is a typo, and is refused."""

    model_config = ConfigDict(extra="forbid")


class TrueFinding(Strict):
    """One flaw that a sentence states, or speaks of again (`mention_of` names the first one's key).

    `phrase` is the exact stretch of the sentence that states it. `hedged`: the speaker is not sure.
    """

    part: str
    defect: str
    phrase: str
    position: Position | None = None
    side: Side | None = None
    severity: int | None = Field(ge=0, le=5)
    count: int | None = None
    size_mm: float | None = None
    area_pct: float | None = None
    key: str | None = None
    mention_of: str | None = None
    hedged: bool = False
    start_s: float | None = None
    end_s: float | None = None

    @model_validator(mode="before")
    @classmethod
    def _grade_by_rule(cls, data: Any) -> Any:
        """Left out, the grade is 3, or none for history; TOML writes no grade as "none"."""
        if not isinstance(data, dict):
            return data
        default = None if data.get("defect") in HISTORY else 3
        grade = data.get("severity", default)
        return {**data, "severity": None if grade == "none" else grade}


class TrueClean(Strict):
    """A part that a sentence calls free of damage."""

    part: str
    phrase: str
    position: Position | None = None
    side: Side | None = None


class Say(Strict):
    """One sentence, what it states, and the silence after it. `noise_s`: only noise, no speech.

    `unheard`: a stretch of a garbled caption that nobody could recover and that must be flagged.
    `heard`: the garbled caption text, where the truth is of a caption file.
    """

    text: str = ""
    findings: list[TrueFinding] = Field(default_factory=list)
    clean: list[TrueClean] = Field(default_factory=list)
    pause_s: float = Field(default=0.5, ge=0)
    noise_s: float = Field(default=0.0, ge=0)
    heard: str | None = None
    unheard: bool = False
    start_s: float | None = None
    end_s: float | None = None

    @model_validator(mode="after")
    def _phrases_stand_in_the_text(self) -> "Say":
        phrases = [finding.phrase for finding in self.findings]
        for phrase in [*phrases, *(clean.phrase for clean in self.clean)]:
            if phrase not in self.text:
                raise ValueError(f"the phrase '{phrase}' does not stand in '{self.text}'")
        return self


class TrueVehicle(Strict):
    """The spoken header."""

    year: int | None = None
    make: str | None = None
    model: str | None = None
    vin: str | None = None
    vin_valid: bool | None = None
    stock_number: str | None = None
    odometer: Odometer | None = None
    hours: float | None = None


class Truth(Strict):
    """One narration with its truth. Once rendered: voice, rate, condition and times as well."""

    id: str
    kind: Kind
    split: Literal["fit", "weigh", "check", "final", "sample"]
    vehicle: TrueVehicle = Field(default_factory=TrueVehicle)
    say: list[Say]
    voice: str | None = None
    rate: float | None = None
    condition: str | None = None
    duration_s: float | None = None

    @model_validator(mode="after")
    def _mentions_refer_back(self) -> "Truth":
        keys: set[str] = set()
        for say in self.say:
            for finding in say.findings:
                if finding.mention_of is not None and finding.mention_of not in keys:
                    raise ValueError(
                        f"'{finding.phrase}' refers to '{finding.mention_of}', unknown"
                    )
                if finding.key is not None:
                    keys.add(finding.key)
        return self

    @property
    def text(self) -> str:
        """All that is said, in order."""
        return " ".join(say.text for say in self.say if say.text)


def read_truth(path: Path) -> Truth:
    """Reads a truth file (TOML as written by hand, or JSON as rendered).

    Raises TruthError, naming file and field, where it is not one.
    """
    try:
        raw = path.read_bytes()
        if path.suffix == ".json":
            return Truth.model_validate_json(raw)
        return Truth.model_validate(tomllib.loads(raw.decode("utf-8")))
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(step) for step in first["loc"])
        raise TruthError(f"{path}: {where}: {first['msg']}") from error
    except (OSError, ValueError, RecursionError) as error:  # the last two of bad TOML
        raise TruthError(f"{path}: cannot be read as a truth file: {error}") from error
