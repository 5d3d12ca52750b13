"""Fits the hunches of `pipeline/understand/hunches.py`: its data files.

    python scripts/fit_hunches.py       half a minute

Learns from the exact texts of the split `fit`, where what is told of each sentence is known, and
from the single sentences of `tests/narrations/turns`, half of which only sound like a flaw. The
figures printed are of narrations and sentences that the model at hand has not seen.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import click
from evaluating.cases import NARRATIONS, text_cases
from fitting.regression import fit, write, write_counts
from render import ROOT
from rich.progress import track

from lexicon.load import load_lexicon
from pipeline.logistic import Logistic
from pipeline.models import Kind, Line
from pipeline.score.measures import Promises
from pipeline.score.timing import exact_transcript
from pipeline.understand.hunches import SLOTS, flaw_clues, part_clues, sentence_clues, slot_clues
from pipeline.understand.naming import is_strange
from pipeline.understand.nlp import read_lines
from pipeline.understand.reading import typed
from pipeline.understand.terms import Item

DATA = ROOT / "pipeline" / "understand" / "data"
KINDS: tuple[Kind, ...] = ("motorcycle", "side_by_side", "snowmobile", "watercraft")
_TURNS = 0.3  # what a single sentence counts: of a narration fewer sound like what they are not
_RAREST = 3  # a clue that fewer cases have tells nothing
_LEAST = 0.05  # log odds: a smaller weight is left out
_LEAST_OF_PLACES = 0.15  # as good on `weigh` as 0.05, with half the clues
_OFTEN = 3  # times that a word is said before it counts as known
_FOLDS = 5

Told = list[tuple[str, str]]  # part and flaw


class Sentence(NamedTuple):
    """The items of a sentence, what is told in it, the talk that it is of, and what it counts."""

    row: Sequence[Item]
    told: Told
    talk: str
    counts: float


class Outcome(NamedTuple):
    """The clues of a flaw's word, a pair or a sentence, whether it is so, its talk, its count."""

    clues: dict[str, float]
    true: bool
    talk: str
    counts: float


def main() -> None:
    """Counts, fits the models, writes all, and prints how well the models do."""
    write_counts(DATA / "told.toml", "fit_hunches.py", told_of_parts())
    talk = list(narrated())
    words = Counter(item.id for one in talk for item in one.row if is_strange(item))
    known = {word: times for word, times in words.items() if times >= _OFTEN}
    write_counts(DATA / "said.toml", "fit_hunches.py", {"word": known})
    flaws: list[Outcome] = []
    parts: list[Outcome] = []
    sentences: list[Outcome] = []
    for row, told, *rest in (*talk, *turns()):
        sentences.append(Outcome(_all(sentence_clues(row)), bool(told), *rest))
        for at, item in enumerate(row):
            if item.role != "defect":
                continue
            of = {part for part, defect in told if defect == item.id}
            flaws.append(Outcome(_all(flaw_clues(row, at)), bool(of), *rest))
            if of and "it" not in of:
                parts += [
                    Outcome(_all(part_clues(row, at, part)), true, *rest)
                    for part, true in _pairs(row, of)
                ]
    models = {"flaw": flaws, "part": parts, "sentence": sentences} | places(talk)
    fitted = {name: _fit(name, each) for name, each in models.items()}
    write(DATA / "hunches.toml", "fit_hunches.py", fitted)


def places(talk: Sequence[Sentence]) -> dict[str, list[Outcome]]:
    """The places of flaws told and of parts, by what stands around, beside those of other words."""
    found: dict[str, list[Outcome]] = {"flaw_slot": [], "part_slot": []}
    for one in talk:
        flaws = {defect for _, defect in one.told}
        for at, item in enumerate(one.row):
            is_flaw, is_part = item.role == "defect" and item.id in flaws, item.role == "part"
            if not (is_flaw or is_part or is_strange(item)):
                continue
            clues = _all(slot_clues(one.row, at))
            if not is_part:
                found["flaw_slot"].append(Outcome(clues, is_flaw, one.talk, one.counts))
            if not is_flaw:
                found["part_slot"].append(Outcome(clues, is_part, one.talk, one.counts))
    return found


def told_of_parts() -> dict[str, Counter[str]]:
    """How often the narrations tell each flaw, by part."""
    counts = defaultdict[str, Counter[str]](Counter)
    for case in text_cases("fit"):
        for say in case.truth.say:
            for flaw in say.findings:
                counts[flaw.part][flaw.defect] += 1
    return counts


def narrated() -> Iterator[Sentence]:
    """The sentences of the narrations."""
    for case in track(text_cases("fit"), "narrations"):
        said = [say for say in case.truth.say if say.text]
        lines = exact_transcript(case.truth).lines
        for row, first, last in _rows(lines, case.truth.kind):
            told = [flaw for say in said[first : last + 1] for flaw in say.findings]
            yield Sentence(row, [(flaw.part, flaw.defect) for flaw in told], case.name, 1.0)


def turns() -> Iterator[Sentence]:
    """The single sentences, "fuel_tank dent, seat tear | ..." or "none | ..." a line."""
    for kind in track(KINDS, "turns"):
        file = NARRATIONS / "turns" / f"{kind}.txt"
        for number, line in enumerate(file.read_text("utf-8").splitlines()):
            labels, _, sentence = line.partition(" | ")
            each = [label.split() for label in labels.split(", ") if label != "none"]
            told = [(part, defect) for part, defect in each]
            for row, _, _ in _rows(typed(sentence).lines, kind)[:1]:
                yield Sentence(row, told, f"{kind} {number % _FOLDS}", _TURNS)


def _rows(lines: Sequence[Line], kind: Kind) -> list[tuple[list[Item], int, int]]:
    """The items of each sentence, and the first and last line that it is in."""
    doc = read_lines(lines, load_lexicon(kind), None)
    line = [origin.line for origin in doc._.origin]
    return [(row, line[row[0].start], line[row[-1].end - 1]) for row in doc._.items]


def _pairs(row: Sequence[Item], of: set[str]) -> Iterator[tuple[int | None, bool]]:
    """Each part of a sentence, and none of them, with whether a flaw told of some parts is its."""
    named = {at: item.id for at, item in enumerate(row) if item.role == "part"}
    yield from ((at, part in of) for at, part in named.items())
    yield None, not of.issubset(named.values())


def _fit(name: str, outcomes: Sequence[Outcome]) -> Logistic:
    """The model of some outcomes; prints how well models of four fifths of them do on the rest."""
    seen = Counter(clue for one in outcomes for clue in one.clues)
    names = sorted(clue for clue, cases in seen.items() if cases >= _RAREST)
    talks = sorted({one.talk for one in outcomes})
    unseen: list[tuple[float, Outcome]] = []
    for fold in range(_FOLDS):
        left_out = set(talks[fold::_FOLDS])
        model = _learn([one for one in outcomes if one.talk not in left_out], names)
        rest = [one for one in outcomes if one.talk in left_out]
        unseen += [(model.probability(one.clues), one) for one in rest]
    for title, counts in (("narrations", 1.0), ("turns", _TURNS)):
        cases = tuple((p, one.true) for p, one in unseen if one.counts == counts)
        if not cases:
            continue
        right = sum((p >= 0.5) == true for p, true in cases) / len(cases)
        ece = Promises(cases).ece()
        click.echo(f"{name}, {title}: {len(cases)} cases, right {right:.4f}, ECE {ece:.3f}")
    model = _learn(outcomes, names)
    least = _LEAST_OF_PLACES if name in SLOTS else _LEAST
    weights = {clue: weight for clue, weight in model.weights.items() if abs(weight) >= least}
    click.echo(f"  {len(weights)} of {len(names)} clues weigh {least} or more")
    return Logistic(model.always, weights)


def _learn(outcomes: Sequence[Outcome], names: Sequence[str]) -> Logistic:
    clues, true = [one.clues for one in outcomes], [one.true for one in outcomes]
    return fit(clues, true, names, [one.counts for one in outcomes])


def _all(clues: Iterator[str]) -> dict[str, float]:
    return dict.fromkeys(clues, 1.0)


if __name__ == "__main__":
    main()
