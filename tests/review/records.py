"""Small records made by hand, as `wearword log` would write them."""

from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise
from typing import Any

from pipeline.models import (
    Finding,
    Kind,
    Line,
    Place,
    Record,
    Settings,
    Source,
    Statement,
    Vehicle,
    Word,
)
from pipeline.review.choices import Choices
from pipeline.review.wordbook import Wordbook

NOON = datetime(2031, 5, 4, 12, 0, tzinfo=UTC)

CHOICES = Choices(
    parts={
        "fuel_tank": ["tank", "gas tank"],
        "mirror": ["mirror"],
        "saddlebag": ["saddlebag", "bag"],
        "tail_light": ["tail light"],
        "brake_rotor": ["brake rotor", "disc"],
    },
    defects={
        "scratch": ["scratch", "scratched"],
        "crack": ["crack", "cracked", "hairline"],
        "dent": ["dent", "ding"],
        "rust": ["rust", "rusty"],
        "repaint": ["repainted"],
    },
    caution=lambda part, defect, _said: (
        "A cracked brake part." if (part, defect) == ("brake_rotor", "crack") else None
    ),
    ungraded=frozenset({"repaint"}),
)


def line(number: int, text: str, *, doubt: float = 0.9, **fields: Any) -> Line:
    """A line of five seconds; every word as probable as `doubt` says."""
    start = 5.0 * (number - 1)
    words = [
        Word(text=word, start_s=start + i * 0.4, end_s=start + i * 0.4 + 0.3, probability=doubt)
        for i, word in enumerate(text.split())
    ]
    given = {"start_s": start, "end_s": start + 5, "text": text, "words": words}
    return Line(id=f"L{number:03}", **(given | fields))


def finding(number: int, part: str, defect: str, line_number: int, **fields: Any) -> Finding:
    """A finding spoken one second into its line."""
    start = 5.0 * (line_number - 1) + 1
    given: dict[str, Any] = {
        "start_s": start,
        "end_s": start + 2,
        "heard": f"{defect} {part}",
        "read_as": f"{defect} {part}",
        "confidence": 0.95,
        "severity": 3,
        "line_id": f"L{line_number:03}",
    } | fields
    return Finding(id=f"F{number:03}", part=part, defect=defect, **given)


def flagged(number: int, part: str, defect: str, line_number: int, **fields: Any) -> Finding:
    """A finding that a person should look at."""
    given: dict[str, Any] = {"confidence": 0.5, "status": "flagged", "flags": ["sound_alike"]}
    return finding(number, part, defect, line_number, **(given | fields))


def record(**fields: Any) -> Record:
    """Six lines: a clear finding, two flagged ones, a doubtful and an unheard line."""
    given: dict[str, Any] = {
        "source": Source(
            file_name="walk.mp4",
            sha256="0" * 64,
            duration_s=30.0,
            has_video=True,
            transcript_origin="recogniser",
        ),
        "vehicle": Vehicle(kind="motorcycle"),
        "findings": [
            finding(1, "fuel_tank", "scratch", 1, confidence=0.97),
            flagged(2, "saddlebag", "crack", 2, side="left", side_basis="inferred"),
            flagged(3, "brake_rotor", "crack", 4, caution="A cracked brake part."),
        ],
        "clean": [],
        "unmentioned": ["mirror", "tail_light"],
        "lines": [
            line(1, "there's a scratch on the tank"),
            line(2, "and a crack in the settle bag", doubt=0.4, flags=["low_probability"]),
            line(3, "moving on"),
            line(4, "the router has a crack"),
            line(
                5, "the mirth is all ding", doubt=0.2, status="doubtful", flags=["low_probability"]
            ),
            line(6, "", status="unheard", flags=["no_words"]),
        ],
        "settings": Settings(program_version="0", lexicon="motorcycle", lexicon_version="1"),
    }
    return Record(**(given | fields))


def understand_text(text: str) -> list[Statement]:
    """Stands in for the real understanding: one flaw for each "DEFECT PART" named by its id."""
    words = text.replace(",", " ").split()
    return [
        Statement(
            place=Place(part=part, part_said=part),
            defect=defect,
            severity=3,
            severity_basis="default",
            line_id="typed",
            words=[Word(text=text, start_s=0, end_s=1)],
            read_as=f"{defect} {part}",
        )
        for defect, part in pairwise(words)
        if defect in CHOICES.defects and part in CHOICES.parts
    ]


@dataclass(frozen=True)
class FewWords(Wordbook):
    """The choices above, and the understanding above; a talk understood anew says the same."""

    def choices(self, kind: Kind) -> Choices:  # noqa: ARG002
        return CHOICES

    def understand_text(self, text: str, kind: Kind) -> list[Statement]:  # noqa: ARG002
        return understand_text(text)

    def understand_anew(self, record: Record, kind: Kind) -> Record:
        vehicle = Vehicle(kind=kind, kind_basis="reviewed")
        return record.model_copy(update={"vehicle": vehicle})


WORDS = FewWords()


def reason(code: str) -> str:
    """A code in plain words."""
    return f"it is a {code.replace('_', ' ')}"
