"""Fits the hunches of `pipeline/understand/hunches.py`: its data file.

    python scripts/fit_hunches.py       ten seconds or so

Learns from the exact texts of the split `fit`: what is told of each sentence there is known. The
figures printed are of narrations that the model at hand has not seen.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import click
from evaluating.cases import text_cases
from fitting.regression import fit, write
from render import ROOT
from rich.progress import track

from lexicon.load import load_lexicon
from pipeline.logistic import Logistic
from pipeline.score.measures import Promises
from pipeline.score.timing import exact_transcript
from pipeline.score.truth import Truth
from pipeline.understand.hunches import flaw_clues, part_clues, sentence_clues
from pipeline.understand.nlp import read_lines
from pipeline.understand.terms import Item

DATA = ROOT / "pipeline" / "understand" / "data" / "hunches.toml"
_RAREST = 3  # a clue that fewer cases have tells nothing
_LEAST = 0.05  # log odds: a smaller weight is left out
_FOLDS = 5


class Outcome(NamedTuple):
    """The clues of a flaw's word, a pair or a sentence, whether it is so, and its narration."""

    clues: dict[str, float]
    true: bool
    narration: str


def main() -> None:
    """Fits the three models, writes them, and prints how well they do."""
    flaws: list[Outcome] = []
    parts: list[Outcome] = []
    sentences: list[Outcome] = []
    for case in track(text_cases("fit"), "reading"):
        for row, told in _sentences(case.truth):
            sentences.append(Outcome(_all(sentence_clues(row)), bool(told), case.name))
            for at, item in enumerate(row):
                if item.role != "defect":
                    continue
                of = {part for part, defect in told if defect == item.id}
                flaws.append(Outcome(_all(flaw_clues(row, at)), bool(of), case.name))
                if of:
                    parts += [
                        Outcome(_all(part_clues(row, at, part)), true, case.name)
                        for part, true in _pairs(row, of)
                    ]
    models = {"flaw": flaws, "part": parts, "sentence": sentences}
    write(DATA, "fit_hunches.py", {name: _fit(name, each) for name, each in models.items()})


def _sentences(truth: Truth) -> Iterator[tuple[list[Item], list[tuple[str, str]]]]:
    """The items of each sentence, and the part and flaw of all that is told in it."""
    said = [say for say in truth.say if say.text]
    doc = read_lines(exact_transcript(truth).lines, load_lexicon(truth.kind), None)
    for row in doc._.items:
        first, last = (doc._.origin[at].line for at in (row[0].start, row[-1].end - 1))
        told = [flaw for say in said[first : last + 1] for flaw in say.findings]
        yield row, [(flaw.part, flaw.defect) for flaw in told]


def _pairs(row: Sequence[Item], of: set[str]) -> Iterator[tuple[int | None, bool]]:
    """Each part of a sentence, and none of them, with whether a flaw told of some parts is its."""
    named = {at: item.id for at, item in enumerate(row) if item.role == "part"}
    yield from ((at, part in of) for at, part in named.items())
    yield None, not of.issubset(named.values())


def _fit(name: str, outcomes: Sequence[Outcome]) -> Logistic:
    clues, true = [one.clues for one in outcomes], [one.true for one in outcomes]
    seen = Counter(clue for case in clues for clue in case)
    names = sorted(clue for clue, cases in seen.items() if cases >= _RAREST)
    narrations = sorted({one.narration for one in outcomes})
    cases: list[tuple[float, bool]] = []
    for fold in range(_FOLDS):
        left_out = set(narrations[fold::_FOLDS])
        learnt = [one for one in outcomes if one.narration not in left_out]
        model = fit([one.clues for one in learnt], [one.true for one in learnt], names)
        rest = [one for one in outcomes if one.narration in left_out]
        cases += [(model.probability(one.clues), one.true) for one in rest]
    right = sum((p >= 0.5) == well for p, well in cases) / len(cases)
    click.echo(
        f"{name}: {len(cases)} cases, {sum(true) / len(true):.3f} of them so, right {right:.4f}, "
        f"ECE {Promises(tuple(cases)).ece():.3f}"
    )
    model = fit(clues, true, names)
    weights = {clue: weight for clue, weight in model.weights.items() if abs(weight) >= _LEAST}
    click.echo(f"  {len(weights)} of {len(names)} clues weigh {_LEAST} or more")
    return Logistic(model.always, weights)


def _all(clues: Iterator[str]) -> dict[str, float]:
    return dict.fromkeys(clues, 1.0)


if __name__ == "__main__":
    main()
