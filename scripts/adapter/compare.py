"""What an adapter changes, on recordings it never met: the published weights beside the adapted.

    python scripts/adapter/compare.py rendered/check/*.json --adapter trade.safetensors
    python scripts/adapter/compare.py --adapter trade.safetensors --spoken said.json

Truth files lie beside their recordings. `--spoken` is a list of {"sound": path, "text": words} of
speech about other things. Prints the figures for each condition, all recordings of it taken
together; `--out` keeps them, and every recording's decodings side by side.
"""

import json
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import click
import jiwer
import numpy as np

from lexicon.load import load_lexicon
from pipeline.listen.media import read_media
from pipeline.listen.recogniser import transcribe
from pipeline.listen.weights import load_speech_model
from pipeline.models import Word
from pipeline.score.hearing import Heard, heard, plain_words
from pipeline.score.truth import Truth, read_truth


class Recording(NamedTuple):
    """A sound file, what is said in it, and the truth file's times where there are any."""

    sound: Path
    condition: str
    kind: str
    text: str
    truth: Truth | None


def recordings(truths: tuple[Path, ...], spoken: Path | None) -> Iterator[Recording]:
    """The recordings of truth files and of a list of other speech."""
    for path in truths:
        truth = read_truth(path)
        text = " ".join(say.text for say in truth.say if say.text)
        yield Recording(path.with_suffix(".ogg"), str(truth.condition), truth.kind, text, truth)
    for each in json.loads(spoken.read_text("utf-8")) if spoken else []:
        yield Recording(
            Path(each["sound"]), each.get("set", "speech"), "motorcycle", each["text"], None
        )


def time_errors(truth: Truth, words: list[Word]) -> list[float]:
    """How far, in seconds, the first word of a sentence is from where it is said, where heard."""
    said = [(word, say.start_s if not n else None) for say in truth.say if say.text
            for n, word in enumerate(plain_words(say.text))]  # fmt: skip
    got = [(part, word.start_s) for word in words for part in plain_words(word.text)]
    aligned = jiwer.process_words(" ".join(w for w, _ in said), " ".join(w for w, _ in got))
    return [
        abs(start_s - got[chunk.hyp_start_idx + offset][1])
        for chunk in aligned.alignments[0]
        if chunk.type == "equal"
        for offset in range(chunk.ref_end_idx - chunk.ref_start_idx)
        if (start_s := said[chunk.ref_start_idx + offset][1]) is not None
    ]


def figures_of(found: Heard, times: list[float]) -> dict[str, float]:
    """Shares of errors in words, and how late or early sentences begin, in seconds."""
    shares = {"words": found.words, "trade": found.trade, "invented": found.invented}
    figures = {name: round(share.ratio or 0.0, 4) for name, share in shares.items()}
    if times:
        figures |= {"off_s": round(float(np.median(times)), 3)}
        figures |= {"off_95_s": round(float(np.quantile(times, 0.95)), 3)}
    return figures | {"of_words": found.words.total}


@click.command()
@click.argument("truths", nargs=-1, type=click.Path(path_type=Path, exists=True))
@click.option("--adapter", "adapters", multiple=True, type=click.Path(path_type=Path, exists=True))
@click.option("--spoken", type=click.Path(path_type=Path, exists=True))
@click.option("--out", type=click.Path(path_type=Path))
@click.option("--threads", type=int, default=1, show_default=True)
def main(
    truths: tuple[Path, ...],
    adapters: tuple[Path, ...],
    spoken: Path | None,
    out: Path | None,
    threads: int,
) -> None:
    """Compares the adapters with the published weights."""
    totals: dict[tuple[str, str], Heard] = {}
    times: dict[tuple[str, str], list[float]] = defaultdict(list)
    decodings: dict[str, dict[str, str]] = defaultdict(dict)
    todo = list(recordings(truths, spoken))
    for adapter in [None, *map(str, adapters)]:
        model = load_speech_model(None, "cpu", threads, adapter)
        name = model.name
        for each in todo:
            words = transcribe(read_media(each.sound)[0], model).words
            text = " ".join(word.text for word in words)
            decodings[each.sound.name] |= {"said": each.text, name: text}
            found = heard(each.text, text, load_lexicon(each.kind))
            for group in (each.condition, "all"):
                key = group, name
                totals[key] = totals[key] + found if key in totals else found
                times[key] += time_errors(each.truth, words) if each.truth else []
    figures = {" ".join(key): figures_of(totals[key], times[key]) for key in sorted(totals)}
    for name, of_name in figures.items():
        click.echo(f"{name:24} {' '.join(f'{key} {value}' for key, value in of_name.items())}")
    if out:
        content = {"figures": figures, "decodings": decodings}
        out.write_text(json.dumps(content, indent=1, ensure_ascii=False) + "\n", "utf-8")


if __name__ == "__main__":
    main()
