"""A narration spoken: clean sound, and the truth with the time of every sentence and phrase."""

import hashlib
import json
import os
from dataclasses import astuple, dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pipeline.score.truth import Say, Truth
from rendering.alignment import Spelling, aligned, phrase_times
from rendering.sound import RATE, Samples, silence, stretched
from rendering.voices import Voice, speak

LEAD_S = 0.6  # before the first word, and at least so long after the last


@dataclass(frozen=True)
class Recital:
    """The speech alone, with pauses of true silence, and the truth with its times in seconds."""

    speech: Samples
    truth: Truth


@dataclass(frozen=True)
class Sentence:
    """One sentence by one voice at its own pace, and when each of its words is spoken."""

    samples: Samples
    words: list[Spelling]


def recite(truth: Truth, voice: Voice, rate: float, cache: Path) -> Recital:
    """Speaks a narration; sentences already spoken by this voice come from the cache folder."""
    pieces, says, at_s = [silence(LEAD_S)], [], LEAD_S
    for say in truth.say:
        noise = silence(say.noise_s)
        sentence = spoken(voice, say.text, cache) if say.text else Sentence(silence(0), [])
        samples = stretched(sentence.samples, rate)
        start_s = at_s if not say.text else at_s + len(noise) / RATE
        says.append(_timed(say, sentence.words, rate, start_s, len(samples) / RATE))
        pieces += [noise, samples, silence(say.pause_s)]
        at_s += sum(map(len, pieces[-3:])) / RATE
    pieces.append(silence(LEAD_S))
    speech = np.concatenate(pieces)
    fields: dict[str, Any] = {"say": says, "voice": voice.name, "rate": rate}
    fields["duration_s"] = round(len(speech) / RATE, 3)
    return Recital(speech, truth.model_copy(update=fields))


def spoken(voice: Voice, text: str, cache: Path) -> Sentence:
    """The sentence by the voice, from the cache where it is there."""
    key = hashlib.sha256(f"{voice.engine}\n{voice.speaker}\n{text}".encode()).hexdigest()[:24]
    path = cache / f"{key}.npz"
    if path.exists():
        with np.load(path) as kept:
            words = [Spelling(*row) for row in json.loads(str(kept["words"]))]
            return Sentence(_floats(kept["pcm"]), words)
    pcm = (np.clip(speak(voice, text), -1, 1) * 32767).round().astype(np.int16)
    words = aligned(_floats(pcm), text)
    rows = json.dumps([astuple(word) for word in words])
    cache.mkdir(parents=True, exist_ok=True)
    partial = path.with_suffix(f".{os.getpid()}.npz")
    np.savez(partial, pcm=pcm, words=rows)
    partial.replace(path)
    return Sentence(_floats(pcm), words)


def shifted(truth: Truth, seconds: float) -> Truth:
    """The truth of a recording whose sound starts so much later on the media's clock."""
    data = truth.model_dump()
    data["duration_s"] = round(data["duration_s"] + seconds, 3)
    for say in data["say"]:
        for timed in [say, *say["findings"]]:
            timed["start_s"] = round(timed["start_s"] + seconds, 3)
            timed["end_s"] = round(timed["end_s"] + seconds, 3)
    return Truth.model_validate(data)


def _floats(pcm: NDArray[np.int16]) -> Samples:
    return (pcm / 32767).astype(np.float32)


def _timed(say: Say, words: list[Spelling], rate: float, start_s: float, length_s: float) -> Say:
    end_s = start_s + (length_s if say.text else say.noise_s)
    findings = []
    for finding in say.findings:
        first, last = phrase_times(words, say.text, finding.phrase, length_s * rate)
        times = {
            "start_s": round(start_s + first / rate, 3),
            "end_s": round(min(end_s, start_s + last / rate), 3),
        }
        findings.append(finding.model_copy(update=times))
    times = {"start_s": round(start_s, 3), "end_s": round(end_s, 3)}
    return say.model_copy(update={"findings": findings, **times})
