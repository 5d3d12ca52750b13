"""Whisper in PyTorch under the names that CTranslate2 gives its arrays, with a low-rank adapter.

Fused matrices stay fused, so that an adapter trained here fits the published weights file as it is.
`W` is a dictionary from array name to tensor; `adapted` gives the same with the products added.
Architecture: Radford et al. 2022, "Robust Speech Recognition via Large-Scale Weak Supervision";
sizes are those of the base model.
"""

import math
from collections.abc import Callable

import numpy as np
import torch
import torch.nn.functional as F  # noqa: N812
from torch import Tensor

from pipeline.listen.adapter import spots

HEADS, LAYERS = 8, 6
SOT, ENGLISH, TRANSCRIBE, NO_TIMESTAMPS, EOT = 50258, 50259, 50359, 50363, 50257
PROMPT = [SOT, ENGLISH, TRANSCRIBE, NO_TIMESTAMPS]

Weights = dict[str, Tensor]


def read_weights(model_bin: bytes, device: str) -> Weights:
    """The arrays of a weights file as float32 tensors."""
    return {
        name: torch.from_numpy(
            np.frombuffer(model_bin, "<f2", math.prod(spot.shape), spot.offset)
            .reshape(spot.shape)
            .astype(np.float32)
        ).to(device)
        for name, spot in spots(model_bin).items()
    }


def new_adapter(weights: Weights, takes: Callable[[str], bool], rank: int) -> Weights:
    """Trainable products, zero at first, for each matrix that `takes` its name."""
    adapter: Weights = {}
    for name, matrix in weights.items():
        if name.endswith("/weight") and matrix.ndim == 2 and takes(name):
            rows, columns = matrix.shape
            down = torch.randn(rank, columns, device=matrix.device) / math.sqrt(columns)
            up = torch.zeros(rows, rank, device=matrix.device)
            adapter[f"{name}.down"], adapter[f"{name}.up"] = down, up
    return {key: value.requires_grad_() for key, value in adapter.items()}


def adapted(weights: Weights, adapter: Weights) -> Weights:
    """The weights with the adapter's products added."""
    names = [key.removesuffix(".up") for key in adapter if key.endswith(".up")]
    products = {name: adapter[f"{name}.up"] @ adapter[f"{name}.down"] for name in names}
    return weights | {name: weights[name] + product for name, product in products.items()}


def encode(weights: Weights, mel: Tensor) -> Tensor:
    """Log-mel frames (batch, 80, 3000) to the encoder's output (batch, 1500, 512)."""
    x = F.gelu(
        F.conv1d(mel, weights["encoder/conv1/weight"], weights["encoder/conv1/bias"], padding=1)
    )
    x = F.gelu(
        F.conv1d(
            x, weights["encoder/conv2/weight"], weights["encoder/conv2/bias"], stride=2, padding=1
        )
    )
    x = x.transpose(1, 2) + weights["encoder/position_encodings/encodings"]
    for layer in range(LAYERS):
        x = _self_attention(weights, f"encoder/layer_{layer}", x, causal=False)
        x = _feed_forward(weights, f"encoder/layer_{layer}", x)
    return _norm(weights, "encoder", x)


def decode(weights: Weights, tokens: Tensor, heard: Tensor) -> Tensor:
    """The decoder's output (batch, length, 512) at each of `tokens` (batch, length)."""
    embeddings = weights["decoder/embeddings/weight"]
    positions = weights["decoder/position_encodings/encodings"][: tokens.shape[1]]
    x = F.embedding(tokens, embeddings) + positions
    for layer in range(LAYERS):
        name = f"decoder/layer_{layer}"
        x = _self_attention(weights, name, x, causal=True)
        x = _cross_attention(weights, name, x, heard)
        x = _feed_forward(weights, name, x)
    return _norm(weights, "decoder", x)


def scores(weights: Weights, output: Tensor) -> Tensor:
    """Scores of every token of the vocabulary to follow, from the decoder's output."""
    return F.linear(output, weights["decoder/embeddings/weight"]).float()


@torch.no_grad()
def greedy(
    weights: Weights, mel: Tensor, suppressed: Tensor, longest: int = 200
) -> list[list[int]]:
    """The most likely token after each, until the end of text; the prompt is left out."""
    heard = encode(weights, mel)
    tokens = torch.tensor([PROMPT] * len(mel), device=mel.device)
    ended = torch.zeros(len(mel), dtype=torch.bool, device=mel.device)
    while tokens.shape[1] < longest and not ended.all():
        likely = scores(weights, decode(weights, tokens, heard)[:, -1])
        likely[:, suppressed] = -torch.inf
        if tokens.shape[1] == len(PROMPT):
            likely[:, [220, EOT]] = -torch.inf  # CTranslate2 lets no text begin with a blank or end
        best = likely.argmax(-1)
        best[ended] = EOT
        ended |= best == EOT
        tokens = torch.cat([tokens, best[:, None]], 1)
    said = tokens[:, len(PROMPT) :].tolist()
    return [row[: row.index(EOT)] if EOT in row else row for row in said]


def _norm(weights: Weights, name: str, x: Tensor) -> Tensor:
    gamma, beta = weights[f"{name}/layer_norm/gamma"], weights[f"{name}/layer_norm/beta"]
    return F.layer_norm(x, gamma.shape, gamma, beta)


def _linear(weights: Weights, name: str, x: Tensor) -> Tensor:
    return F.linear(x, weights[f"{name}/weight"], weights[f"{name}/bias"])


def _heads(x: Tensor) -> Tensor:
    return x.unflatten(-1, (HEADS, -1)).transpose(1, 2)


def _attend(query: Tensor, key: Tensor, value: Tensor, *, causal: bool = False) -> Tensor:
    found = F.scaled_dot_product_attention(
        _heads(query), _heads(key), _heads(value), is_causal=causal
    )
    return found.transpose(1, 2).flatten(2)


def _self_attention(weights: Weights, layer: str, x: Tensor, *, causal: bool) -> Tensor:
    name = f"{layer}/self_attention"
    fused = _linear(weights, f"{name}/linear_0", _norm(weights, name, x))
    found = _attend(*fused.chunk(3, -1), causal=causal)
    return x + _linear(weights, f"{name}/linear_1", found)


def _cross_attention(weights: Weights, layer: str, x: Tensor, heard: Tensor) -> Tensor:
    name = f"{layer}/attention"
    query = _linear(weights, f"{name}/linear_0", _norm(weights, name, x))
    key, value = _linear(weights, f"{name}/linear_1", heard).chunk(2, -1)
    return x + _linear(weights, f"{name}/linear_2", _attend(query, key, value))


def _feed_forward(weights: Weights, layer: str, x: Tensor) -> Tensor:
    name = f"{layer}/ffn"
    inner = F.gelu(_linear(weights, f"{name}/linear_0", _norm(weights, name, x)))
    return x + _linear(weights, f"{name}/linear_1", inner)
