"""Cuts recordings of people into clips, beside those of the synthetic voices.

    python scripts/adapter/people.py --sounds /usr/share/asterisk/sounds --out build/adapter/clips

Of five Debian packages, telephone prompts in other languages than English (CC BY-SA 3.0, one
speaker each): asterisk-core-sounds-fr-g722, -it-g722 and -ru-g722 to train on, and
asterisk-prompt-fr-armelle and asterisk-prompt-it-menardi-gsm, which training never hears. What they
say is not asked: they keep an adapter from losing what the published weights make of a person's
voice. The English prompts are left for the proof. Writes what `voices.py` writes, with no sentence.
"""

import json
from collections.abc import Iterator
from pathlib import Path

import av
import click
import numpy as np
from numpy.typing import NDArray
from voices import RATE, levelled

# The folder of each speaker's prompts, below the folder of all.
SPEAKERS = {
    "people-fr": "fr_CA_f_June",
    "people-it": "it_IT_m_Carlo",
    "people-ru": "ru_RU_f_IvrvoiceRU",
    "people-armelle": "fr",
    "people-menardi": "it_IT_f_Menardi",
}
SHORTEST_S, LONGEST_S = 1.0, 20.0


def clips(folder: Path) -> Iterator[NDArray[np.int16]]:
    """The prompts of a folder, without the silence around them."""
    for path in sorted(folder.rglob("*")):
        if path.suffix in (".g722", ".gsm"):
            try:
                samples = decoded(path)
            except av.error.FFmpegError:  # a few are no more than a header
                continue
            clip = levelled(samples) if samples.any() else samples.astype(np.int16)
            if SHORTEST_S * RATE <= len(clip) < LONGEST_S * RATE:
                yield clip


def decoded(path: Path) -> NDArray[np.float32]:
    """A telephone prompt at 16 kHz; these formats are none that the program itself opens."""
    resampler = av.AudioResampler(format="flt", layout="mono", rate=RATE)
    with av.open(str(path)) as container:
        frames = [part for frame in container.decode(audio=0) for part in resampler.resample(frame)]
    frames += resampler.resample(None)
    return np.concatenate([np.zeros(1, np.float32), *(frame.to_ndarray()[0] for frame in frames)])


@click.command()
@click.option("--sounds", type=click.Path(path_type=Path, exists=True), required=True)
@click.option("--out", type=click.Path(path_type=Path), required=True)
def main(sounds: Path, out: Path) -> None:
    """Cuts the clips."""
    out.mkdir(parents=True, exist_ok=True)
    for name, folder in SPEAKERS.items():
        index, start = [], 0
        with (out / f"{name}.pcm").open("wb") as pcm:
            for clip in clips(sounds / folder):
                pcm.write(clip.tobytes())
                index.append([None, start, len(clip)])
                start += len(clip)
        (out / f"{name}.json").write_text(json.dumps(index))
        click.echo(f"{name}: {len(index)} prompts, {start / RATE / 60:.0f} minutes")


if __name__ == "__main__":
    main()
