"""Trains the trade adapter on spoken sentences.

    python scripts/adapter/train.py --sentences sentences.json --clips clips --weights weights \\
        --out trade

WEIGHTS is a folder with the published model.bin, config.json and tokenizer.json.
Writes OUT.safetensors (the adapter) and OUT.json (how it was trained, and the figures on the way).
Windows are put together on the card as training goes: sentences of one voice with pauses, in rooms,
bands and noises, so that no two are alike. Trade talk is learned from its text; of plain English,
and of people's recordings in other languages, the published weights, which hear them without the
noise, are the teacher; windows without speech are to stay empty. Held-out voices read the fit
narrations, which training never sees.
"""

import hashlib
import json
import time
from pathlib import Path
from typing import Any

import click
import numpy as np
import torch
import torch.nn.functional as F  # noqa: N812
from measure import Errors, errors, words_of
from safetensors.numpy import save_file
from sound import log_mel, masked, recorded
from speech import IGNORED, Batch, Speech, Window, drawn, in_order
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

DEVICE = "cuda" if torch.cuda.is_available() else "cpu"


def _half() -> torch.autocast:
    return torch.autocast(DEVICE, torch.bfloat16, enabled=DEVICE == "cuda")


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
            tokens = torch.tensor([row + [EOT] * (longest - len(row)) for row in rows]).to(
                speech.device
            )
            counts = torch.tensor([len(row) for row in rows], device=speech.device)
            with _half():
                likely = scores(base, decode(base, tokens, heard)).log_softmax(-1)
            said = likely[:, :-1].gather(2, tokens[:, 1:, None])[..., 0]
            places = torch.arange(1, longest, device=speech.device)
            total = (said * ((places >= len(PROMPT)) & (places < counts[:, None]))).sum(1)
            for number in (total > best).nonzero()[:, 0].tolist():
                speech.texts[part[number][0]] = texts[number]
            best = torch.maximum(best, total)


@torch.no_grad()
def hear_people(speech: Speech, base: Weights, suppressed: Tensor) -> None:
    """Takes for the text of people's recordings what the published weights hear of them."""
    todo = [clip for clip in range(len(speech.voice)) if speech.topic(clip) == "people"]
    for at in range(0, len(todo), 192):
        part = todo[at : at + 192]
        waves, lengths = speech.waves([Window("", [clip], [1600]) for clip in part])
        with _half():
            rows = greedy(base, log_mel(waves, lengths, speech.filters), suppressed, longest=100)
        for clip, row in zip(part, rows, strict=True):
            speech.texts[speech.of_sentence[clip]] = speech.tokenizer.decode(row).strip()


def loss_of(weights: Weights, base: Weights, batch: Batch, teach: float) -> Tensor:
    """What is to fall: see the module's docstring."""
    with torch.no_grad(), _half():
        quiet = encode(base, batch.quiet)
        plain = decode(base, batch.tokens, quiet)
    with _half():
        heard = encode(weights, masked(batch.mel))
        output = decode(weights, batch.tokens, heard)
        learn = (batch.targets != IGNORED) & ~batch.taught
        own = scores(weights, output[learn])
        hard = F.cross_entropy(own, batch.targets[learn], reduction="none")
        weight = torch.where(batch.silent[:, None].expand_as(learn)[learn], 3.0, 1.0)
        loss = (hard * weight).mean()
        # Whether there is speech at all is said at the first token of the prompt.
        start = torch.zeros_like(learn)
        start[:, 0] = ~batch.silent
        like = batch.taught | start
        mine = scores(weights, output[like]).log_softmax(-1)
        theirs = scores(base, plain[like]).log_softmax(-1)
        return loss + teach * F.kl_div(mine, theirs, log_target=True, reduction="batchmean")


class Judge:
    """Errors on windows that training never sees, quiet and noisy; the same noise at every call."""

    def __init__(self, speech: Speech, content: dict[str, Any], suppressed: list[int]) -> None:
        self.speech = speech
        self.trade, self.joined = set(content["trade_words"]), content["joined"]
        self.suppressed = torch.tensor(suppressed, device=DEVICE)
        self.sets = {
            f"{voice} narrations": windows
            for voice in HELD_OUT
            if (windows := in_order(speech, voice, "held-out"))
        }
        self.sets["plain English"] = in_order(speech, HELD_OUT[0], "general")
        self.sets["people"] = [
            window for voice in HELD_OUT for window in in_order(speech, voice, "people")
        ]
        self.sets["no speech"] = [Window("silent", [], []) for _ in range(96)]

    def __call__(self, weights: Weights) -> dict[str, str]:  # noqa: D102 (the class says it)
        return {
            f"{name}, {'noisy' if noisy else 'quiet'}": str(self._errors(weights, windows, noisy))
            for name, windows in self.sets.items()
            for noisy in (0.0, 1.0)
        }

    @torch.no_grad()
    def _errors(self, weights: Weights, windows: list[Window], noisy: float) -> Errors:
        total = Errors()
        with torch.random.fork_rng():
            torch.manual_seed(7)
            for at in range(0, len(windows), 96):
                part = windows[at : at + 96]
                waves, lengths = self.speech.waves(part)
                heard = recorded(waves, lengths, noisy=noisy)
                with _half():
                    mel = log_mel(heard, lengths, self.speech.filters)
                    rows = greedy(weights, mel, self.suppressed)
                for window, row in zip(part, rows, strict=True):
                    text = self.speech.tokenizer.decode(row)
                    said = words_of(self.speech.text(window), self.joined)
                    total += errors(said, words_of(text, self.joined), self.trade)
        return total


@click.command()
@click.option("--sentences", type=click.Path(path_type=Path, exists=True), required=True)
@click.option("--clips", type=click.Path(path_type=Path, exists=True), required=True)
@click.option("--weights", "folder", type=click.Path(path_type=Path, exists=True), required=True)
@click.option("--out", type=click.Path(path_type=Path), required=True)
@click.option("--rank", type=int, default=16, show_default=True)
@click.option("--encoder/--no-encoder", default=True, show_default=True)
@click.option("--steps", type=int, default=800, show_default=True)
@click.option("--batch", type=int, default=64, show_default=True, help="Windows a step.")
@click.option("--rate", type=float, default=5e-4, show_default=True, help="Learning rate at most.")
@click.option("--teach", type=float, default=2.0, show_default=True, help="Weight of the teacher.")
@click.option("--dull", type=float, default=0.0, show_default=True, help="Share of dull voices.")
@click.option("--judge-every", type=int, default=400, show_default=True)
@click.option("--seed", type=int, default=1, show_default=True)
def main(sentences: Path, clips: Path, folder: Path, out: Path, **recipe: Any) -> None:
    """Trains an adapter."""
    began = time.time()
    torch.backends.cuda.matmul.allow_tf32 = True
    torch.backends.cuda.enable_cudnn_sdp(False)  # it plans anew, slowly, for every length of text
    content = json.loads(sentences.read_text("utf-8"))
    tokenizer = Tokenizer.from_file(str(folder / "tokenizer.json"))
    speech = Speech(content["sentences"], clips, tokenizer, DEVICE)
    model_bin = (folder / "model.bin").read_bytes()
    base = read_weights(model_bin, DEVICE)
    choose_spellings(speech, base)
    config = json.loads((folder / "config.json").read_text("utf-8"))
    hear_people(speech, base, torch.tensor(config["suppress_ids"], device=DEVICE))
    judge = Judge(speech, content, config["suppress_ids"])

    torch.manual_seed(recipe["seed"])
    adapter = new_adapter(base, lambda name: _takes(name, recipe["encoder"]), recipe["rank"])
    optimizer = torch.optim.AdamW(adapter.values(), lr=recipe["rate"], betas=(0.9, 0.98))
    schedule = torch.optim.lr_scheduler.LambdaLR(
        optimizer, lambda step: min((step + 1) / 50, 1.0) * max(0.02, 1 - step / recipe["steps"])
    )
    record: dict[str, Any] = {**recipe, "hours": round(speech.hours, 1), "losses": [], "judged": {}}
    base_sha256 = hashlib.sha256(model_bin).hexdigest()

    def look(step: int, weights: Weights) -> None:
        record["judged"][step] = judge(weights)
        record["seconds"] = round(time.time() - began)
        _save(out, adapter, base_sha256, record)
        click.echo(json.dumps(record["judged"][step], indent=1))

    look(0, base)
    windows = drawn(speech, np.random.default_rng(recipe["seed"]))
    losses: list[float] = []
    for step in range(1, recipe["steps"] + 1):
        batch = speech.batch([next(windows) for _ in range(recipe["batch"])], dull=recipe["dull"])
        loss = loss_of(adapted(base, adapter), base, batch, recipe["teach"])
        optimizer.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(adapter.values(), 1.0)
        optimizer.step()
        schedule.step()
        losses.append(float(loss.detach()))
        if step % 50 == 0:
            record["losses"].append(round(float(np.mean(losses[-50:])), 4))
            click.echo(f"step {step}: loss {record['losses'][-1]}, {time.time() - began:.0f} s")
        if step % recipe["judge_every"] == 0 or step == recipe["steps"]:
            with torch.no_grad():
                look(step, adapted(base, adapter))


def _takes(name: str, encoder: bool) -> bool:
    """Attention and feed-forward matrices of the decoder, and of the encoder where wanted."""
    return name.startswith("decoder/layer_") or (encoder and name.startswith("encoder/layer_"))


def _save(out: Path, adapter: Weights, base_sha256: str, record: dict[str, Any]) -> None:
    out.parent.mkdir(parents=True, exist_ok=True)
    arrays: dict[str, Any] = {
        key: value.detach().half().cpu().numpy() for key, value in adapter.items()
    }
    arrays["base_sha256"] = np.frombuffer(bytes.fromhex(base_sha256), np.uint8)
    save_file(arrays, out.with_suffix(".safetensors"))
    out.with_suffix(".json").write_text(json.dumps(record, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main()
