"""Why a person should look: every flag's code, its reason in plain words, and when it is raised.

Flags are rows: a new one is a new row. Codes stand in the findings file; reasons are shown. What is
worth a look follows from its cost: where an error that slips through costs a shop ten times what a
reviewer's glance does, a glance pays at everything that is less than nine tenths sure.
"""

from collections.abc import Callable
from typing import NamedTuple

from pipeline.models import Source
from pipeline.understand.contested import CONTESTED
from pipeline.understand.references import UNHEARD_REFERENCE
from pipeline.weigh.confidence import Clues

# What a glance costs, of what an error in the advertisement does (DEVELOPERS.md). In a noisy
# recording an error is worth more, so that no more slip through in a hundred lines than elsewhere,
# even of a voice that is hard to hear.
GLANCE_COST = 1 / 17
IN_NOISE = 3.0
NOISY_DB = 30.0  # talk that stands no farther above the noise is noisy

_LIKELY = 0.5
_RARE = 0.7  # told of the part at most three times in all the narrations

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
    CONTESTED: "a flaw seems to be told here of a part that is called clean as well",
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
    """One reason for doubt: its code, the reason in words, and for which clues it holds."""

    code: str
    reason: str
    holds: Callable[[Clues], bool]


# Reasons for a finding of little confidence; the last one holds where no other does.
FINDING_RULES = (
    Rule(
        "repaired",
        "words were read otherwise than they were first heard",
        lambda c: "repaired" in c,
    ),
    Rule("other_reading", "the words may also mean something else", lambda c: "rival" in c),
    Rule(
        "unsure_words",
        "the recogniser was unsure of a word that matters here",
        lambda c: c.get("worst", 0.0) > 0.5,
    ),
    Rule(
        "near_spelling",
        "a word was read as a near spelling of a trade word",
        lambda c: "misspelt" in c,
    ),
    Rule(
        "rare_flaw",
        "such a flaw is hardly ever told of this part: it may be another's, or another",
        lambda c: c.get("unusual", 0.0) > _RARE,
    ),
    Rule(
        "doubtful_line", "it stands in a line that may be misheard", lambda c: "doubtful_line" in c
    ),
)
UNSURE = Rule("unsure", "all things together, it is less sure than it should be", lambda _: True)

# Reasons for a line in which a flaw may have been missed.
LINE_RULES = (
    Rule(
        "near_miss",
        "words here sound like trade words, but not surely enough",
        lambda c: "near_miss" in c,
    ),
    Rule(
        "odd_word",
        "a word hardly ever said, or hardly heard, stands where a flaw or a part would be named",
        lambda c: max(c.get("flaw_slot", 0.0), c.get("part_slot", 0.0)) > _LIKELY,
    ),
    Rule("stray_flaw", "a flaw is named here that went to no part", lambda c: "stray_flaw" in c),
)
MISSED = Rule(
    "may_hide_a_flaw", "a flaw may be spoken of here that was not made out", lambda _: True
)

# What understanding and weighing say of lines, beside what listening does.
WEIGHED_ON_LINES = frozenset(
    (UNHEARD_REFERENCE, CONTESTED, MISSED.code, *(rule.code for rule in LINE_RULES))
)

REASONS = (
    LINE_REASONS
    | STATEMENT_REASONS
    | {rule.code: rule.reason for rule in (*FINDING_RULES, UNSURE, *LINE_RULES, MISSED)}
)


def is_noisy(source: Source) -> bool:
    """Whether a recording was listened to and is noisy."""
    return source.above_noise_db is not None and source.above_noise_db < NOISY_DB


def cost_in(source: Source, glance_cost: float) -> float:
    """What a glance costs in a recording, as a share of what an error does there."""
    return glance_cost / IN_NOISE if is_noisy(source) else glance_cost


def reason(code: str) -> str:
    """The reason of a flag in plain words; a code of a newer program is shown as it stands."""
    return REASONS.get(code, code.replace("_", " "))


def finding_flags(
    notes: list[str], clues: Clues, confidence: float, glance_cost: float
) -> list[str]:
    """The codes of all reasons to look at a finding, each once; what understanding notes is one."""
    doubts = _codes(FINDING_RULES, UNSURE, clues) if confidence < 1 - glance_cost else []
    return list(dict.fromkeys([*notes, *doubts]))


def line_flags(clues: Clues, confidence: float, glance_cost: float) -> list[str]:
    """The codes of all reasons to look at a line for a flaw that was missed."""
    return _codes(LINE_RULES, MISSED, clues) if confidence < 1 - glance_cost else []


def _codes(rules: tuple[Rule, ...], otherwise: Rule, clues: Clues) -> list[str]:
    return [rule.code for rule in rules if rule.holds(clues)] or [otherwise.code]
