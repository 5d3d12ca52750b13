"""Hunches: what the words alone suggest, learned from narrations, beside what rules make of them.

Three linear models over the words around (`data/hunches.toml`, made by `scripts/fit_hunches.py`)
say how likely a flaw's word tells a flaw of the machine, how likely it is told of a part, and how
likely a sentence tells a flaw at all. They know no grammar, and so are wrong elsewhere than the
rules: where the two disagree, a finding is less sure, or a line may hide a flaw. Words of parts and
of flaws count as such, whatever their spelling, so that a shop's own are known as well. How often
each flaw is told of each part (`data/told.toml`, by the same script) tells an unusual one. Two more
models know only what stands around a word: of one that narrations never say (`data/said.toml`), or
that the recogniser doubts, they tell whether a flaw or a part belongs in its place, which then may
have been misheard.

doc._.items, doc._.said ─► doc._.said with clues, doc._.hunches: clues of each sentence
"""

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import pairwise

from spacy.language import Language
from spacy.tokens import Doc

from pipeline.logistic import load_model, load_tables
from pipeline.understand.naming import is_strange
from pipeline.understand.said import Flaw
from pipeline.understand.talk import COMMON_WORDS
from pipeline.understand.terms import Item

_BESIDE = 2  # items so near are known by their distance
_NEAR, _AROUND = 4, 6
_CARRIED = 5
_OFTEN = 150  # times told; a flaw told of its part more often is no more usual
SLOTS = ("flaw_slot", "part_slot")
_LEAST_DOUBT = 0.02  # of a word; a surer one is what was said
_REACH = 40  # items to either side; farther off nothing is heard together


def tells(row: Sequence[Item], flaw: int) -> float:
    """The probability that a flaw's word, by its index, tells a flaw of the machine."""
    return _probability("flaw", flaw_clues(row, flaw))


def is_of(row: Sequence[Item], flaw: int, part: int | None) -> float:
    """The probability that a flaw is of a part, by its index, or (None) of one named before."""
    return _probability("part", part_clues(row, flaw, part))


def speaks(row: Sequence[Item]) -> float:
    """The probability that a sentence tells any flaw."""
    return _probability("sentence", sentence_clues(row))


def slots(row: Sequence[Item], doubts: Sequence[float]) -> dict[str, float]:
    """By `SLOTS`, the greatest probability that a flaw's or a part's word belongs where another
    stands, times how doubtful that is; empty where no word is in doubt.

    `doubts` are the recogniser's of each item, 0 to 1; a word that narrations never say is in full.
    """
    said = _said()
    odd = (is_strange(item) and item.id not in said for item in row)
    each = [1.0 if strange else doubt for strange, doubt in zip(odd, doubts, strict=True)]
    found: dict[str, float] = {}
    for at, (item, doubt) in enumerate(zip(row, each, strict=True)):
        if item.role == "word" and item.id.isalpha() and doubt >= _LEAST_DOUBT:
            clues = list(slot_clues(row, at))
            for name in SLOTS:
                lost = doubt * _probability(name, iter(clues))
                found[name] = max(lost, found.get(name, 0.0))
    return found


@lru_cache(maxsize=1)
def _said() -> frozenset[str]:
    """The words that narrations or anybody says."""
    return COMMON_WORDS.union(load_tables("understand", "said")["word"])


@lru_cache(maxsize=10_000)
def unusual(part: str, defect: str) -> float:
    """How unusual a flaw is on a part, by how often narrations tell it: 0 often, 1 never."""
    told = load_tables("understand", "told").get(part, {}).get(defect, 0)
    return max(0.0, 1 - math.log1p(told) / math.log1p(_OFTEN))


def flaw_clues(row: Sequence[Item], flaw: int) -> Iterator[str]:
    """What stands around a flaw's word: words and pairs of words by side and distance."""
    codes, own = [_code(item) for item in row], row[flaw]
    yield from (f"is {own.id}", f"says {own.text}")
    for at in range(max(0, flaw - _AROUND), min(len(codes), flaw + _AROUND + 1)):
        far = at - flaw
        if not far:
            continue
        side = "before" if far < 0 else "after"
        yield f"{side} {codes[at]}"
        yield f"{far:+} {codes[at]}" if abs(far) <= _BESIDE else f"{side} {_step(far)} {codes[at]}"
        if at + 1 < len(codes) and at + 1 != flaw:
            yield f"{side} {codes[at]} {codes[at + 1]}"
        if abs(far) == 1:
            yield f"{far:+} {codes[at]} | {own.id}"
    yield from (f"in {code}" for code in codes)
    yield from (f"first {codes[0]}", f"last {codes[-1]}")
    if not any(item.role == "defect" for item in row[:flaw]):
        yield "leads"


def part_clues(row: Sequence[Item], flaw: int, part: int | None) -> Iterator[str]:
    """What stands between a flaw's word and a part's and beside them, and what other parts."""
    codes = [_code(item) for item in row]
    before, after = (sum(item.role == "part" for item in side) for side in (row[:flaw], row[flaw:]))
    if part is None:
        yield from (
            "carried",
            f"carried of {min(before + after, 3)}",
            f"carried past {min(before, 2)}",
        )
        yield from (f"carried before {code}" for code in codes[max(0, flaw - _CARRIED) : flaw])
        yield from (f"carried after {code}" for code in codes[flaw + 1 : flaw + _CARRIED])
        yield from (f"carried first {code}" for code in codes[:2])
        return
    way = ">" if part < flaw else "<"
    low, high = sorted((part, flaw))
    between = codes[low + 1 : high]
    others = between.count("PART")
    around = f"{min(before, 2)} {min(after, 2)}"
    yield from (way, f"{way} {_step(high - low)}", f"{way} of {around}")
    yield f"{way} past {min(others, 2)} of {around}"
    yield f"{way} past {min(others, 2)} and {min(between.count('DEFECT'), 2)}"
    yield from (f"{way} between {code}" for code in between)
    yield from (f"{way} between {a} {b}" for a, b in pairwise(between))
    if len(between) <= _NEAR:
        yield f"{way} all between {' '.join(between)}"
    for name, at in (("part", part), ("flaw", flaw)):
        left = codes[at - 1] if at else "."
        right = codes[at + 1] if at + 1 < len(codes) else "."
        yield from (f"{way} {left} {name}", f"{way} {name} {right}")
        if name == "part":
            yield from (f"{left} {name}", f"{name} {right}")
    yield f"{' '.join(codes[max(0, part - 2) : part])} part"
    yield from (f"is {row[part].id}", f"is {row[part].id} {row[flaw].id}")
    if not part:
        yield "first"


def slot_clues(row: Sequence[Item], at: int) -> Iterator[str]:
    """What stands around a place, whatever stands in it."""
    before = [_code(item) for item in row[max(0, at - _AROUND) : at]][::-1]
    after = [_code(item) for item in row[at + 1 : at + 1 + _AROUND]]
    for side, codes in (("before", before), ("after", after)):
        for far, code in enumerate(codes, 1):
            yield f"{side} {code}"
            yield f"{side} {_step(far)} {code}"
        yield from (f"{side} {a} {b}" for a, b in pairwise(codes))
    left, right = [*before, "<"], [*after, ">"]
    yield f"between {left[0]} {right[0]}"
    yield f"after {' '.join(left[:2])} *"
    yield f"* {' '.join(right[:2])}"


def sentence_clues(row: Sequence[Item]) -> Iterator[str]:
    """The words of a sentence, its pairs and its threes, and how many flaws and parts it names."""
    codes = ["<", *map(_code, row), ">"]
    for length in (1, 2, 3):
        starts = range(len(codes) - length + 1)
        yield from (f"has {' '.join(codes[at : at + length])}" for at in starts)
    flaws, parts = codes.count("DEFECT"), codes.count("PART")
    yield from (f"flaws {min(flaws, 3)}", f"parts {min(parts, 3)}")
    yield f"flaws {min(flaws, 2)} parts {min(parts, 2)}"


@Language.component(
    "hunches", requires=["doc._.items", "doc._.said"], assigns=["doc._.said", "doc._.hunches"]
)
def hunches(doc: Doc) -> Doc:
    """Gives each flaw and each sentence the clues in which the words contradict the rules."""
    rows: list[list[Item]] = doc._.items
    lost = [slots(row, [_doubt(doc, item) for item in row]) for row in rows]
    stated: dict[int, set[int]] = {}
    for flaw in doc._.said.flaws:
        stated.setdefault(flaw.sentence, set()).add(flaw.items[0])
        rare = unusual(flaw.target.place.part, flaw.defect.id)
        flaw.clues = flaw.clues | {"unusual": rare} | _against(rows[flaw.sentence], flaw)
        flaw.clues |= {name: p for name, p in lost[flaw.sentence].items() if name == "part_slot"}
    doc._.hunches = [
        lost[number] | _left(row, stated.get(number, set())) for number, row in enumerate(rows)
    ]
    return doc


def _doubt(doc: Doc, item: Item) -> float:
    """How much the recogniser doubts the first word of an item; captions doubt none."""
    origin = doc._.origin[item.start]
    probability: float | None = doc._.lines[origin.line].words[origin.word].probability
    return 0.0 if probability is None else 1 - probability


def _against(row: Sequence[Item], flaw: Flaw) -> dict[str, float]:
    """What speaks against a flaw as the rules read it."""
    if row[flaw.items[0]].role != "defect":
        return {}  # "so does the lever"
    near, at = _near(row, flaw.items[0])
    shift = flaw.items[0] - at
    own = {i - shift for i in flaw.target.items if row[i].role == "part"}
    likely = {i: is_of(near, at, i) for i, item in enumerate(near) if item.role == "part"}
    rivals = [p for i, p in likely.items() if i not in own and near[i].id != flaw.target.place.part]
    clues = {"untold": 1 - tells(near, at), "rival_part": max(rivals, default=0.0)}
    if own:
        clues["unlinked"] = 1 - max(likely.get(i, 0.0) for i in own)
    elif not flaw.target.items:
        clues["unlinked"] = 1 - is_of(near, at, None)
    return clues


def _left(row: Sequence[Item], stated: set[int]) -> dict[str, float]:
    """What hints at a flaw in a sentence that the rules did not read."""
    left = [i for i, item in enumerate(row) if item.role == "defect" and i not in stated]
    clues = {"unstated": max((tells(*_near(row, i)) for i in left), default=0.0)}
    return clues if stated else clues | {"telling": speaks(row[: 2 * _REACH])}


def _near(row: Sequence[Item], at: int) -> tuple[Sequence[Item], int]:
    """The items about an index, all of them but in talk without end, and its place there."""
    start = max(0, at - _REACH)
    return (row, at) if len(row) <= 2 * _REACH else (row[start : at + _REACH], at - start)


def _probability(table: str, clues: Iterator[str]) -> float:
    return load_model("understand", "hunches", table).probability_of(clues)


def _code(item: Item) -> str:
    """A word as it is, a part or a flaw as such, another phrase by its role and id."""
    if item.role == "word":
        return item.id
    return item.role.upper() if item.role in ("part", "defect") else f"{item.role}:{item.id}"


def _step(far: int) -> int:
    """A distance of items, the coarser the farther."""
    return min((step for step in (1, 2, 3, 4, 6, 10) if step >= abs(far)), default=10)
