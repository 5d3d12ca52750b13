"""Trains the trade adapter on spoken sentences.

    python scripts/adapter/train.py --sentences build/adapter/sentences.json --clips build/adapter/clips \\
        --model model.bin --tokenizer tokenizer.json --out build/adapter/trade

Writes OUT.npz (the adapter) and OUT.json (how it was trained, and the figures on the way). Windows
are put together on the card as training goes: sentences of one voice with pauses, in rooms, bands
and noises, so that no two are alike. Trade windows are learned from their text; on windows of plain
English the published weights, which hear them without the noise, are the teacher; windows without
speech are to stay empty. Held-out voices read the fit narrations, which training never sees.
"""

import hashlib
import json
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import click
import numpy as np
import torch
import torch.nn.functional as F  # noqa: N812
from measure import Errors, errors, words_of
from sound import RATE, SAMPLES, log_mel, masked, mel_filters, recorded
from tokenizers import Tokenizer
from torch import Tensor
from voices import HELD_OUT
from whisper import (
    EOT,
    PROMPT,
    Weights,
    adapted,
    decode,
    encode,
    greedy,
    new_adapter,
    read_weights,
    scores,
)

KINDS = {"trade": 0.62, "general": 0.22, "mixed": 0.08, "silent": 0.08}
SHARES = {"joe": 4.0, "slt": 3.0, "pico-us": 3.0, "pico-gb": 2.0, "espeak": 1.0, "en-us-m3": 0.5}
IGNORED = -100
DEVICE = "cuda" if torch.cuda.is_available() else "cpu"


def _half() -> torch.autocast:
    return torch.autocast(DEVICE, torch.bfloat16, enabled=DEVICE == "cuda")


class Window(NamedTuple):
    """Clips that follow one another, the pause before each in samples, and the kind of window."""

    kind: str
    clips: list[int]
    pauses: list[int]


class Batch(NamedTuple):
    """Windows as the model takes them; `mel` in noise, `quiet` without."""

    mel: Tensor
    quiet: Tensor
    tokens: Tensor
    targets: Tensor
    kinds: list[str]


class Speech:
    """All clips on the card, and the tokens of what they say."""

    def __init__(self, sentences: list[dict], clips: Path, tokenizer: Tokenizer, device: str) -> None:
        self.sentences, self.tokenizer, self.device = sentences, tokenizer, device
        self.texts = [each["written"][-1] for each in sentences]
        pieces, self.of_sentence, starts, lengths, self.voice = [], [], [], [], []
        offset = 0
        for index in sorted(clips.glob("*.json")):
            pcm = np.fromfile(index.with_suffix(".pcm"), "<i2")
            for sentence, start, length in json.loads(index.read_text()):
                if length < 20 * RATE:
                    self.of_sentence.append(sentence)
                    self.voice.append(index.stem)
                    starts.append(offset + start)
                    lengths.append(length)
            pieces.append(pcm)
            offset += len(pcm)
        self.pcm = torch.from_numpy(np.concatenate(pieces)).to(device)
        self.starts, self.lengths = starts, lengths
        self.filters = torch.from_numpy(mel_filters()).to(device)
        self.hours = sum(lengths) / RATE / 3600

    def topic(self, clip: int) -> str:
        return self.sentences[self.of_sentence[clip]]["topic"]

    def pools(self, voices: list[str]) -> dict[tuple[str, str], list[int]]:
        """Clips by voice and topic."""
        found: dict[tuple[str, str], list[int]] = {}
        for clip, voice in enumerate(self.voice):
            if voice in voices:
                found.setdefault((voice, self.topic(clip)), []).append(clip)
        return found

    def text(self, window: Window) -> str:
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

    def batch(self, windows: list[Window], *, noisy: float = 0.75) -> Batch:
        waves, lengths = self.waves(windows)
        mel = log_mel(recorded(waves, lengths, noisy=noisy), lengths, self.filters)
        quiet = log_mel(waves, lengths, self.filters)
        rows = []
        for window in windows:
            text = self.text(window)
            said = self.tokenizer.encode(f" {text}", add_special_tokens=False).ids if text else []
            rows.append([*PROMPT, *said, EOT])
        longest = max(map(len, rows))
        tokens = torch.full((len(rows), longest), EOT)
        targets = torch.full((len(rows), longest), IGNORED)
        for number, row in enumerate(rows):
            tokens[number, : len(row)] = torch.tensor(row)
            targets[number, len(PROMPT) - 1 : len(row) - 1] = torch.tensor(row[len(PROMPT) :])
        return Batch(mel, quiet, tokens.to(self.device), targets.to(self.device), [w.kind for w in windows])


def drawn(speech: Speech, random: np.random.Generator) -> Iterator[Window]:
    """Training windows without end."""
    pools = speech.pools([voice for voice in set(speech.voice) if voice not in HELD_OUT])
    voices = sorted({voice for voice, _ in pools})
    shares = np.array([SHARES[voice] for voice in voices])
    while True:
        kind = str(random.choice(list(KINDS), p=list(KINDS.values())))
        if kind == "silent":
            yield Window(kind, [], [])
            continue
        voice = str(random.choice(voices, p=shares / shares.sum()))
        limit = random.choice([random.uniform(3, 12), random.uniform(12, 29.5), 29.5]) * RATE
        clips: list[int] = []
        pauses: list[int] = []
        total = 3200
        while True:
            topic = kind if kind != "mixed" else str(random.choice(["trade", "general"]))
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
    for clip in sorted(speech.pools([voice]).get((voice, topic), []), key=speech.of_sentence.__getitem__):
        total += speech.lengths[clip] + RATE // 2
        if total > 28 * RATE:
            windows.append(Window(topic, [], []))
            total = speech.lengths[clip] + RATE // 2
        windows[-1].clips.append(clip)
        windows[-1].pauses.append(RATE // 2)
    return windows


@torch.no_grad()
def choose_spellings(speech: Speech, base: Weights) -> None:
    """Of the ways to write a sentence, takes the one that the published weights would write."""
    first: dict[int, int] = {}
    for clip, sentence in enumerate(speech.of_sentence):
        if len(speech.sentences[sentence]["written"]) > 1:
            first.setdefault(sentence, clip)
    todo = list(first.items())
    for at in range(0, len(todo), 192):
        part = todo[at : at + 192]
        waves, lengths = speech.waves([Window("", [clip], [1600]) for _, clip in part])
        mel = log_mel(waves, lengths, speech.filters)
        with _half():
            heard = encode(base, mel)
        best = torch.full((len(part),), -torch.inf, device=speech.device)
        for way in (0, 1):
            texts = [speech.sentences[sentence]["written"][way] for sentence, _ in part]
            rows = [
                [*PROMPT, *speech.tokenizer.encode(f" {t}", add_special_tokens=False).ids, EOT]
                for t in texts
            ]
            longest = max(map(len, rows))
            tokens = torch.tensor([row + [EOT] * (longest - len(row)) for row in rows]).to(speech.device)
            counts = torch.tensor([len(row) for row in rows], device=speech.device)
            with _half():
                likely = scores(base, decode(base, tokens, heard)).log_softmax(-1)
            said = likely[:, :-1].gather(2, tokens[:, 1:, None])[..., 0]
            places = torch.arange(1, longest, device=speech.device)
            total = (said * ((places >= len(PROMPT)) & (places < counts[:, None]))).sum(1)
            for number in (total > best).nonzero()[:, 0].tolist():
                speech.texts[part[number][0]] = texts[number]
            best = torch.maximum(best, total)


def loss_of(weights: Weights, base: Weights, batch: Batch, teach: float) -> Tensor:
    """What is to fall: see the module's docstring."""
    with torch.no_grad(), _half():
        taught = encode(base, batch.quiet)
        plain = decode(base, batch.tokens, taught)
    with _half():
        heard = encode(weights, masked(batch.mel))
        output = decode(weights, batch.tokens, heard)
        known = batch.targets != IGNORED
        general = torch.tensor([kind == "general" for kind in batch.kinds], device=known.device)
        silent = torch.tensor([kind == "silent" for kind in batch.kinds], device=known.device)
        learn = known & ~general[:, None]
        own = scores(weights, output[learn])
        hard = F.cross_entropy(own, batch.targets[learn], reduction="none")
        weight = torch.where(silent[:, None].expand_as(known)[learn], 3.0, 1.0)
        loss = (hard * weight).mean()
        # Whether there is speech at all is said at the first token of the prompt.
        start = torch.zeros_like(known)
        start[:, 0] = ~silent
        like = (known & general[:, None]) | start
        mine = scores(weights, output[like]).log_softmax(-1)
        theirs = scores(base, plain[like]).log_softmax(-1)
        return loss + teach * F.kl_div(mine, theirs, log_target=True, reduction="batchmean")


@torch.no_grad()
def judged(weights: Weights, speech: Speech, sets: dict[str, list[Window]], suppressed: Tensor,
           trade: set[str], joined: dict[str, str]) -> dict[str, Errors]:  # fmt: skip
    """Errors on the held-out windows, quiet and noisy; the same noise at every call."""
    found: dict[str, Errors] = {}
    for name, windows in sets.items():
        for noisy in (0.0, 1.0):
            torch.manual_seed(7)
            total = Errors()
            for at in range(0, len(windows), 96):
                part = windows[at : at + 96]
                waves, lengths = speech.waves(part)
                mel = log_mel(recorded(waves, lengths, noisy=noisy), lengths, speech.filters)
                with _half():
                    rows = greedy(weights, mel, suppressed)
                for window, row in zip(part, rows, strict=True):
                    heard = words_of(speech.tokenizer.decode(row), joined)
                    total += errors(words_of(speech.text(window), joined), heard, trade)
            found[f"{name} {'noisy' if noisy else 'quiet'}"] = total
    return found


@click.command()
@click.option("--sentences", type=click.Path(path_type=Path, exists=True), required=True)
@click.option("--clips", type=click.Path(path_type=Path, exists=True), required=True)
@click.option("--model", type=click.Path(path_type=Path, exists=True), required=True)
@click.option("--config", type=click.Path(path_type=Path, exists=True), required=True)
@click.option("--tokenizer", "tokenizer_file", type=click.Path(exists=True), required=True)
@click.option("--out", type=click.Path(path_type=Path), required=True)
@click.option("--rank", type=int, default=16, show_default=True)
@click.option("--encoder/--no-encoder", default=False)
@click.option("--steps", type=int, default=800, show_default=True)
@click.option("--batch", "size", type=int, default=64, show_default=True)
@click.option("--rate", type=float, default=5e-4, show_default=True)
@click.option("--teach", type=float, default=1.0, show_default=True)
@click.option("--judge-every", type=int, default=200, show_default=True)
@click.option("--seed", type=int, default=1, show_default=True)
def main(sentences: Path, clips: Path, model: Path, config: Path, tokenizer_file: str, out: Path,
         rank: int, encoder: bool, steps: int, size: int, rate: float, teach: float,
         judge_every: int, seed: int) -> None:  # fmt: skip
    """Trains an adapter."""
    began = time.time()
    torch.backends.cuda.matmul.allow_tf32 = True
    content = json.loads(sentences.read_text("utf-8"))
    trade, joined = set(content["trade_words"]), content["joined"]
    speech = Speech(content["sentences"], clips, Tokenizer.from_file(tokenizer_file), DEVICE)
    model_bin = model.read_bytes()
    base = read_weights(model_bin, DEVICE)
    suppressed = torch.tensor(json.loads(config.read_text())["suppress_ids"], device=DEVICE)
    choose_spellings(speech, base)
    click.echo(f"{speech.hours:.1f} hours ready after {time.time() - began:.0f} s")
    sets = {f"{voice} narrations": in_order(speech, voice, "narration") for voice in HELD_OUT}
    sets["plain English"] = in_order(speech, "pico-gb", "general")
    sets["no speech"] = [Window("silent", [], []) for _ in range(96)]

    torch.manual_seed(seed)
    adapter = new_adapter(base, lambda name: _takes(name, encoder), rank)
    optimizer = torch.optim.AdamW(list(adapter.values()), lr=rate, weight_decay=0.01, betas=(0.9, 0.98))
    schedule = torch.optim.lr_scheduler.LambdaLR(
        optimizer, lambda step: min((step + 1) / 50, 1.0) * max(0.02, 1 - step / steps)
    )
    windows = drawn(speech, np.random.default_rng(seed))
    record: dict = {"rank": rank, "encoder": encoder, "steps": steps, "batch": size, "rate": rate,
                    "teach": teach, "seed": seed, "hours": round(speech.hours, 1), "losses": [], "judged": {}}  # fmt: skip

    def judge(step: int, weights: Weights) -> None:
        with torch.random.fork_rng():
            found = judged(weights, speech, sets, suppressed, trade, joined)
        record["judged"][step] = {name: str(each) for name, each in found.items()}
        for name, each in found.items():
            click.echo(f"  {name}: {each} heard-for-nothing {each.wrong_words}")

    judge(0, base)
    losses: list[float] = []
    for step in range(1, steps + 1):
        batch = speech.batch([next(windows) for _ in range(size)])
        loss = loss_of(adapted(base, adapter), base, batch, teach)
        optimizer.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(adapter.values(), 1.0)
        optimizer.step()
        schedule.step()
        losses.append(float(loss.detach()))
        if step % 50 == 0:
            record["losses"].append(round(float(np.mean(losses[-50:])), 4))
            click.echo(f"step {step}: loss {record['losses'][-1]}, {time.time() - began:.0f} s")
        if step % judge_every == 0 or step == steps:
            with torch.no_grad():
                judge(step, adapted(base, adapter))
            _save(out, adapter, hashlib.sha256(model_bin).hexdigest(), record)


def _takes(name: str, encoder: bool) -> bool:
    """Attention and feed-forward matrices of the decoder, and of the encoder where wanted."""
    return name.startswith("decoder/layer_") or (encoder and name.startswith("encoder/layer_"))


def _save(out: Path, adapter: Weights, base_sha256: str, record: dict) -> None:
    out.parent.mkdir(parents=True, exist_ok=True)
    arrays = {key: value.detach().half().cpu().numpy() for key, value in adapter.items()}
    np.savez(out.with_suffix(".npz"), base_sha256=base_sha256, **arrays)
    out.with_suffix(".json").write_text(json.dumps(record, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main()
