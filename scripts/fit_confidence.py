"""Fits what repairs and confidence rest on: the files in pipeline/weigh/data.

    python scripts/render.py --split weigh              makes the recordings
    python scripts/fit_confidence.py                    learns from all of them
    python scripts/fit_confidence.py --only weigh-17    those of one narration, or of several

Learns from the split `weigh`, narrations that no rule was made for by voices that the adapter never
met: its recordings, and its exact texts, in which every repair would be wrong, for confidence also
as if they had been heard without a doubt; and from the garbled captions of `fit`. What was heard is
kept in rendered/heard, so that a second run is short. Figures printed are of narrations that the
model at hand has not seen.
"""

from collections.abc import Mapping

import click
from fitting.listening import listen
from fitting.material import captions, heard_without_doubt, recordings, sounds, texts
from fitting.regression import write
from fitting.repairs import fit_again, fit_repairs
from fitting.sureness import fit_confidence
from render import RENDERED, ROOT
from rich.progress import track

from pipeline.listen.listeners import Listening
from pipeline.listen.weights import load_speech_model
from pipeline.logistic import Logistic, forget_models

DATA = ROOT / "pipeline" / "weigh" / "data"


@click.command()
@click.option("--only", multiple=True, metavar="NARRATION", help="Recordings of this one alone.")
@click.option("--threads", type=click.IntRange(1), default=2, show_default=True)
def main(only: tuple[str, ...], threads: int) -> None:
    """Fits the models, writes them, and prints how well they do."""
    first = Listening(device="cpu", threads=threads).load_first()
    second = load_speech_model(None, "cpu", threads)
    listened = []
    for case in track(list(recordings(only)), "listening"):
        listened.append((case, listen(case, first, second, RENDERED / "heard")))
    again = fit_again(listened)
    _write("repair", {"again": again})
    heard = [*captions(), *texts(), *sounds(listened, first)]
    by_sound, by_hearing = fit_repairs(heard)
    _write("repair", {"sound": by_sound, "heard": by_hearing, "again": again})
    by_ear = [*(one for one in heard if one.judge is not None), *heard_without_doubt()]
    by_eye = [one for one in heard if one.judge is None]
    for file, material in (("recordings", by_ear), ("captions", by_eye)):
        finding, line = fit_confidence(file, material)
        _write(file, {"finding": finding, "line": line})


def _write(file: str, models: Mapping[str, Logistic]) -> None:
    """Writes models where weighing finds them."""
    write(DATA / f"{file}.toml", "fit_confidence.py", models)
    forget_models()


if __name__ == "__main__":
    main()
