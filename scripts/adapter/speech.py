"""Spoken sentences on the card, put together into the windows that the recogniser is given.

Beside the synthetic voices there are recordings of people (`people.py`), of whose words nothing is
known: what the published weights hear of them is their text.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import torch
from sound import RATE, SAMPLES, log_mel, mel_filters, recorded
from tokenizers import Tokenizer
from torch import Tensor
from voices import HELD_OUT
from whisper import EOT, PROMPT

# Shares of the kinds of windows; a narration's sentences count as trade.
KINDS = {"trade": 0.42, "plain": 0.18, "mixed": 0.22, "people": 0.10, "silent": 0.08}
# What is spoken of in windows that are of no one topic.
TOPICS = {"plain": ["general", "alike"], "mixed": ["trade", "general", "alike"]}
SHARES = {"joe": 4.0, "slt": 3.0, "pico-us": 3.0, "espeak": 1.0}
PEOPLE = "people-"  # what the names of sets of people's recordings begin with
IGNORED = -100


class Window(NamedTuple):
    """Clips that follow one another, the pause before each in samples, and the kind of window."""

    kind: str
    clips: list[int]
    pauses: list[int]


class Batch(NamedTuple):
    """Windows as the model takes them; `mel` in noise, `quiet` without.

    `targets` are the tokens to follow, `taught` says of which the published weights are the
    teacher, `silent` in which windows nobody speaks.
    """

    mel: Tensor
    quiet: Tensor
    tokens: Tensor
    targets: Tensor
    taught: Tensor
    silent: Tensor


class Speech:
    """All clips on the card, and the tokens of what they say."""

    def __init__(
        self, sentences: list[dict[str, Any]], clips: Path, tokenizer: Tokenizer, device: str
    ) -> None:
        self.sentences, self.tokenizer, self.device = list(sentences), tokenizer, device
        self.texts = [each["written"][-1] for each in sentences]
        pieces, self.of_sentence, starts, lengths, self.voice = [], [], [], [], []
        offset = 0
        for index in sorted(clips.glob("*.json")):
            pcm = np.fromfile(index.with_suffix(".pcm"), "<i2")
            for sentence, start, length in json.loads(index.read_text()):
                if length < 20 * RATE:
                    self.of_sentence.append(self._unknown() if sentence is None else sentence)
                    self.voice.append(index.stem)
                    starts.append(offset + start)
                    lengths.append(length)
            pieces.append(pcm)
            offset += len(pcm)
        self.pcm = torch.from_numpy(np.concatenate(pieces)).to(device)
        self.starts, self.lengths = starts, lengths
        self.filters = torch.from_numpy(mel_filters()).to(device)
        self.hours = sum(lengths) / RATE / 3600

    def _unknown(self) -> int:
        """A new sentence of which nothing is known yet."""
        self.sentences.append({"topic": "people", "written": [""]})
        self.texts.append("")
        return len(self.texts) - 1

    def topic(self, clip: int) -> str:
        """What the clip speaks of; the narrations are trade talk."""
        topic = self.sentences[self.of_sentence[clip]]["topic"]
        return "trade" if topic == "narration" else str(topic)

    def pools(self, voices: list[str]) -> dict[tuple[str, str], list[int]]:
        """Clips by voice and topic."""
        found: dict[tuple[str, str], list[int]] = {}
        for clip, voice in enumerate(self.voice):
            if voice in voices:
                found.setdefault((voice, self.topic(clip)), []).append(clip)
        return found

    def text(self, window: Window) -> str:
        """What is said in a window."""
        return " ".join(self.texts[self.of_sentence[clip]] for clip in window.clips)

    def waves(self, windows: list[Window]) -> tuple[Tensor, Tensor]:
        """The windows' sound without noise, and their lengths in samples."""
        waves = torch.zeros(len(windows), SAMPLES, device=self.device)
        lengths = []
        for row, window in enumerate(windows):
            at = 0
            for clip, pause in zip(window.clips, window.pauses, strict=True):
                at += pause
                start, length = self.starts[clip], min(self.lengths[clip], SAMPLES - at)
                waves[row, at : at + length] = self.pcm[start : start + length].float() / 32768
                at += length
            lengths.append(min(SAMPLES, at + (window.pauses or [0])[0] + 3200))
            if not window.clips:
                lengths[-1] = int(np.random.default_rng(row).integers(RATE, SAMPLES))
        return waves, torch.tensor(lengths, device=self.device)

    def batch(self, windows: list[Window], *, dull: float) -> Batch:
        """The windows with noise and without, and their tokens."""
        waves, lengths = self.waves(windows)
        mel = log_mel(recorded(waves, lengths, dull=dull), lengths, self.filters)
        quiet = log_mel(waves, lengths, self.filters)
        rows, marks = [], []
        for window in windows:
            # The recogniser may not end before it has said something: to that, too, an answer.
            silence = ("", "...")[len(rows) % 2]
            said = [(self.texts[self.of_sentence[c]], self._is_taught(c)) for c in window.clips]
            row, taught = list(PROMPT), []
            for text, by_teacher in said or [(silence, False)]:
                ids = self._tokens(text)
                row += ids
                taught += [by_teacher] * len(ids)
            rows.append([*row, EOT])
            marks.append([*taught, bool(said) and all(by_teacher for _, by_teacher in said)])
        longest = -(-max(map(len, rows)) // 16) * 16
        tokens = torch.full((len(rows), longest), EOT)
        targets = torch.full((len(rows), longest), IGNORED)
        teach = torch.zeros((len(rows), longest), dtype=torch.bool)
        for number, (row, taught) in enumerate(zip(rows, marks, strict=True)):
            spoken = slice(len(PROMPT) - 1, len(row) - 1)
            tokens[number, : len(row)] = torch.tensor(row)
            targets[number, spoken] = torch.tensor(row[len(PROMPT) :])
            teach[number, spoken] = torch.tensor(taught)
        silent = torch.tensor([not window.clips for window in windows])
        made = (tokens, targets, teach, silent)
        return Batch(mel, quiet, *(each.to(self.device) for each in made))

    def _tokens(self, text: str) -> list[int]:
        return self.tokenizer.encode(f" {text}", add_special_tokens=False).ids if text else []

    def _is_taught(self, clip: int) -> bool:
        return self.topic(clip) in ("general", "people")


def drawn(speech: Speech, random: np.random.Generator) -> Iterator[Window]:
    """Training windows without end."""
    pools = speech.pools([voice for voice in set(speech.voice) if voice not in HELD_OUT])
    voices = sorted({voice for voice, _ in pools if not voice.startswith(PEOPLE)})
    people = sorted({voice for voice, _ in pools if voice.startswith(PEOPLE)})
    shares = np.array([SHARES[voice] for voice in voices])
    while True:
        kind = str(random.choice(list(KINDS), p=list(KINDS.values())))
        if kind == "silent":
            yield Window(kind, [], [])
            continue
        voice = str(random.choice(voices, p=shares / shares.sum()))
        if kind == "people":
            voice = str(random.choice(people))
        limit = random.choice([random.uniform(3, 12), random.uniform(12, 29.5), 29.5]) * RATE
        clips: list[int] = []
        pauses: list[int] = []
        total = 3200
        while True:
            topic = str(random.choice(TOPICS.get(kind, [kind])))
            pool = pools[voice, topic]
            clip, pause = pool[random.integers(len(pool))], int(random.uniform(0.08, 0.8) * RATE)
            total += pause + speech.lengths[clip]
            if clips and total + pauses[0] > limit:
                break
            clips.append(clip)
            pauses.append(pause)
        yield Window(kind, clips, pauses)


def in_order(speech: Speech, voice: str, topic: str) -> list[Window]:
    """A held-out voice's clips one after the other, packed into windows."""
    windows: list[Window] = []
    total = SAMPLES
    for clip in sorted(
        speech.pools([voice]).get((voice, topic), []), key=speech.of_sentence.__getitem__
    ):
        total += speech.lengths[clip] + RATE // 2
        if total > 28 * RATE:
            windows.append(Window(topic, [], []))
            total = speech.lengths[clip] + RATE // 2
        windows[-1].clips.append(clip)
        windows[-1].pauses.append(RATE // 2)
    return windows
