"""Why a person should look: every flag's code, its reason in plain words, and when it is raised.

Flags are rows: a new one is a new row. Codes stand in the findings file; reasons are shown.
"""

from collections.abc import Callable
from typing import NamedTuple

from pipeline.models import Statement
from pipeline.weigh.confidence import Evidence

# Raised on lines by listening.
LINE_REASONS = {
    "speech_not_transcribed": "somebody speaks here, but no words were made out",
    "repetition_loop": "the same words over and over: the recogniser may have got stuck",
    "impossible_rate": "more words than anybody can say in that time",
    "stock_phrase": "a stock phrase that recognisers make up over noise",
    "foreign_script": "not written in English letters",
    "low_probability": "the recogniser was unsure of most of these words",
    "no_voice": "words where no voice was detected",
    "hotword_echo": "a row of trade words as given to the recogniser: it may have invented them",
    "reference_to_unheard": "refers back to something that was never made out",
    "half_heard": "few words for so much speech: part of it may not have been made out",
}

# Raised on findings by understanding.
STATEMENT_REASONS = {
    "speaker_unsure": "the speaker was not sure of it",
    "unknown_part": "the lexicon has no word for the part",
    "impossible_pair": "this part is not made of anything that shows such a flaw",
    "side_contradiction": "the side said is not the one this part sits on",
    "reference_to_unheard": LINE_REASONS["reference_to_unheard"],
}


class Rule(NamedTuple):
    """One reason to look at a finding: its code, the reason, and when it holds."""

    code: str
    reason: str
    holds: Callable[[Statement, Evidence, float], bool]


UNSURE_BELOW = 0.7

RULES = (
    Rule(
        "unsure_words",
        "the recogniser was unsure of a word that matters here",
        lambda _statement, evidence, confidence: (
            evidence.word_probability is not None and confidence < UNSURE_BELOW
        ),
    ),
    Rule(
        "near_spelling",
        "a word was read as a near spelling of a trade word",
        lambda statement, _evidence, _confidence: statement.closeness < 1,
    ),
    Rule(
        "doubtful_line",
        "it stands in a line that may be misheard",
        lambda _statement, evidence, _confidence: evidence.doubtful_line,
    ),
)

REASONS = LINE_REASONS | STATEMENT_REASONS | {rule.code: rule.reason for rule in RULES}


def reason(code: str) -> str:
    """The reason of a flag in plain words; a code of a newer program is shown as it stands."""
    return REASONS.get(code, code.replace("_", " "))


def flags(statement: Statement, evidence: Evidence, confidence: float) -> list[str]:
    """The codes of all reasons to look at a statement, each once."""
    raised = [rule.code for rule in RULES if rule.holds(statement, evidence, confidence)]
    return list(dict.fromkeys([*statement.notes, *raised]))
