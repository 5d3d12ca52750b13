"""Counts how usual words are in a row: the data of `pipeline/weigh/language.py`.

    python scripts/fit_language.py       a minute

Counts rows of one, two and three words in the narrations of the split `fit`.
"""

from collections import Counter

import click
from evaluating.cases import text_cases
from fitting.regression import write_counts
from render import ROOT
from rich.progress import track

from lexicon.load import load_lexicon
from pipeline.score.timing import exact_transcript
from pipeline.understand.nlp import read_lines
from pipeline.weigh.language import END, ORDERS, START, is_word

FILE = ROOT / "pipeline" / "weigh" / "data" / "ngrams.toml"
_OFTEN = 3  # rows met less often are left out: as good on `weigh`, and a quarter of the size


def main() -> None:
    """Counts, and writes what was met often."""
    rows = {order: Counter[str]() for order in ORDERS}
    for case in track(text_cases("fit"), "narrations"):
        doc = read_lines(exact_transcript(case.truth).lines, load_lexicon(case.truth.kind), None)
        for bounds in doc._.sentences:
            words = [START, *filter(is_word, (doc._.lower[at] for at in bounds)), END]
            for length, order in enumerate(ORDERS, 1):
                for at in range(len(words) - length + 1):
                    rows[order][" ".join(words[at : at + length])] += 1
    often = {
        order: {row: times for row, times in own.items() if times >= _OFTEN}
        for order, own in rows.items()
    }
    write_counts(FILE, "fit_language.py", often)
    for order, own in often.items():
        click.echo(f"rows of {order}: {len(own)} of {len(rows[order])}")


if __name__ == "__main__":
    main()
