"""What the reviewer can choose from, and how his typing is read: parts, flaws, places, amounts."""

import re
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any, get_args

from rapidfuzz import fuzz, process, utils

from lexicon.load import Lexicon
from pipeline.models import Position, Side
from pipeline.understand.cautions import caution

_POOR_MATCH = 60  # of 100, rapidfuzz WRatio: below this a name typed is taken as unknown
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "inch": 25.4, "inches": 25.4, '"': 25.4}
_NUMBER = r"(\d+(?:\.\d+)?)"
_PLACES: dict[str, tuple[str, str]] = {
    **{side: ("side", side) for side in get_args(Side)},
    **{position: ("position", position) for position in get_args(Position)},
}


def _no_caution(_part: str, _defect: str, _said: str | None) -> None:
    """The default where no lexicon is at hand: nothing needs a technician."""


@dataclass(frozen=True)
class Choices:
    """What review needs of the lexicon.

    `parts` and `defects` map each id to the phrases for it. `caution` says of a part, a defect and
    what the part was called why a technician should look, or None. `ungraded` are the defects of a
    machine's history, which have no grade unless one is said.
    """

    parts: Mapping[str, Sequence[str]]
    defects: Mapping[str, Sequence[str]]
    caution: Callable[[str, str, str | None], str | None] = _no_caution
    ungraded: frozenset[str] = field(default_factory=frozenset)


def choices_of(lexicon: Lexicon) -> Choices:
    """What a kind's lexicon offers."""
    phrases: dict[tuple[str, str], list[str]] = defaultdict(list)
    for phrase in lexicon.phrases:
        phrases[phrase.role, phrase.id].append(phrase.text)
    return Choices(
        parts={part: phrases["part", part] for part in lexicon.parts},
        defects={defect: phrases["defect", defect] for defect in lexicon.defects},
        caution=partial(caution, lexicon),
        ungraded=frozenset(
            defect for defect, entry in lexicon.defects.items() if entry.group == "history"
        ),
    )


def best_matches(typed: str, options: Mapping[str, Sequence[str]], limit: int = 8) -> list[str]:
    """Ids whose name or phrases are nearest to what was typed, best first; none where all are far.

    A name or phrase that begins as typed comes before one that only resembles it.
    """
    wanted = utils.default_process(typed)
    if not wanted:
        return []
    names = {
        (key, utils.default_process(name)): key
        for key, phrases in options.items()
        for name in (in_words(key), *phrases)
    }
    ranked: dict[str, float] = {}
    texts = {pair: pair[1] for pair in names}
    for text, score, pair in process.extract(
        wanted, texts, scorer=fuzz.WRatio, limit=None, score_cutoff=_POOR_MATCH
    ):
        bonus = 200 if text == wanted else 100 if text.startswith(wanted) else 0
        key = names[pair]
        ranked[key] = max(ranked.get(key, 0.0), score + bonus)
    return sorted(ranked, key=lambda key: (-ranked[key], key))[:limit]


def is_begun(typed: str, key: str, options: Mapping[str, Sequence[str]]) -> bool:
    """Whether what was typed is the beginning, or all, of an id's name or of a phrase for it."""
    wanted = utils.default_process(typed)
    names = (in_words(key), *options[key])
    return any(utils.default_process(name).startswith(wanted) for name in names)


def in_words(key: str) -> str:
    """An id as a person reads it.

    >>> in_words("turn_signal")
    'turn signal'
    """
    return key.replace("_", " ")


def read_place(typed: str) -> dict[str, Any]:
    """Position and side from words or their beginnings ("front left", "f l"); "-" is neither.

    Where a beginning could be either, it is a side: "r" is right, "re" is rear.

    Raises ValueError, saying what may be typed, where a word is none of them or could be several.
    """
    place: dict[str, Any] = {"position": None, "side": None}
    for word in typed.lower().replace(",", " ").split():
        if word == "-":
            continue
        found = next((name for name in _PLACES if name.startswith(word)), None)
        if found is None:
            raise ValueError(f"'{word}' is no place; write any of: {', '.join(_PLACES)}")
        field_name, value = _PLACES[found]
        place[field_name] = value
    return place


def read_amount(typed: str) -> dict[str, Any]:
    """Count ("3"), size ("2 in", "50 mm") and area ("30%") from typing; "-" is none of them.

    Raises ValueError, saying what may be typed, where it is none of these.
    """
    text = typed.lower().strip()
    if text == "-":
        return {"count": None, "size_mm": None, "area_pct": None}
    amount: dict[str, Any] = {}
    rest = text
    for pattern, read in (
        (rf"{_NUMBER}\s*(mm|cm|inches|inch|in|\")(?![a-z])", _size),
        (rf"{_NUMBER}\s*(%|percent)", lambda found: {"area_pct": float(found[1])}),
        (r"\b(\d+)\b", lambda found: {"count": int(found[1])}),
    ):
        if found := re.search(pattern, rest):
            amount |= read(found)
            rest = rest.replace(found[0], " ", 1)
    if not amount or rest.strip(" ,"):
        raise ValueError(f"'{typed}' is no amount; write a count (3), a size (2 in, 50 mm) or 30%")
    return amount


def _size(found: re.Match[str]) -> dict[str, Any]:
    return {"size_mm": round(float(found[1]) * _MM[found[2]], 2)}
