"""How sure we are of a finding, from what is known of its words.

The words that name part and flaw decide: a phrase is no surer than its least sure word. With no
probabilities (captions), closeness and context alone speak, and the ceiling is lower.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from pipeline.models import Line, Statement

_CAPTION_CEILING = 0.9
_DOUBTFUL_LINE_FACTOR = 0.6
_NOTE_FACTORS: Mapping[str, float] = {
    "speaker_unsure": 0.7,
    "unknown_part": 0.6,
    "impossible_pair": 0.4,
    "side_contradiction": 0.7,
    "reference_to_unheard": 0.6,
}


@dataclass(frozen=True)
class Evidence:
    """What confidence is made from: the least word probability (None for captions), and the line."""

    word_probability: float | None
    closeness: float
    doubtful_line: bool

    def as_numbers(self) -> dict[str, float]:
        """The evidence as it stands in the record."""
        known = {} if self.word_probability is None else {"word_probability": self.word_probability}
        return {**known, "closeness": self.closeness}


def evidence_of(statement: Statement, line: Line) -> Evidence:
    """The evidence for a statement in its line."""
    known = [word.probability for word in statement.words if word.probability is not None]
    return Evidence(
        word_probability=round(min(known), 4) if known else None,
        closeness=round(statement.closeness, 4),
        doubtful_line=line.status == "doubtful",
    )


def confidence(statement: Statement, evidence: Evidence) -> float:
    """Between 0 and 1."""
    sure = _CAPTION_CEILING
    if evidence.word_probability is not None:
        # The least of several words is low even where all are right, so it counts by its root.
        sure = evidence.word_probability**0.25
    sure *= evidence.closeness**2
    if evidence.doubtful_line:
        sure *= _DOUBTFUL_LINE_FACTOR
    for note in statement.notes:
        sure *= _NOTE_FACTORS.get(note, 1.0)
    return round(sure, 3)
