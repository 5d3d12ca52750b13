"""Puts a trained adapter into the program, with a card that says what it is.

    python scripts/adapter/ship.py build/adapter/trade.safetensors \\
        --figures build/adapter/figures.json --commit $(git rev-parse --short HEAD)

Beside trade.safetensors lies trade.json, which training wrote; figures.json is what compare.py
wrote. What is shipped has its factors rounded to 8 bits, half of the size.
"""

import hashlib
import json
from pathlib import Path

import click
import numpy as np
from safetensors.numpy import load, save

from pipeline.listen.adapter import factors

DATA = Path(__file__).resolve().parents[2] / "pipeline" / "listen" / "data"
_MOST = 127  # of 8 bits with a sign
_LEAST = 1e-12  # scale of a rank that is all zeros


def rounded(adapter: bytes) -> bytes:
    """The adapter with factors of 8 bits, each rank on a scale of its own."""
    parts = load(adapter)
    arrays = {"base_sha256": parts["base_sha256"]}
    for name, (up, down) in factors(parts).items():
        up_scale = np.maximum(np.abs(up).max(axis=0) / _MOST, _LEAST)
        down_scale = np.maximum(np.abs(down).max(axis=1) / _MOST, _LEAST)
        arrays[f"{name}.up"] = np.rint(up / up_scale).astype(np.int8)
        arrays[f"{name}.down"] = np.rint(down / down_scale[:, np.newaxis]).astype(np.int8)
        arrays[f"{name}.scale"] = up_scale * down_scale
    return save(arrays)


@click.command()
@click.argument("adapter", type=click.Path(path_type=Path, exists=True))
@click.option("--figures", multiple=True, type=click.Path(path_type=Path, exists=True))
@click.option("--commit", required=True, help="Of the scripts that trained it.")
def main(adapter: Path, figures: tuple[Path, ...], commit: str) -> None:
    """Writes data/trade-adapter.safetensors and data/trade-adapter.json."""
    content = rounded(adapter.read_bytes())
    card = {
        "about": "Low-rank products for Whisper base in CTranslate2 form, trained on trade talk; "
        "added in memory by pipeline/listen/adapter.py. Errors are shares of the words said, "
        "measured before the factors were rounded to 8 bits.",
        "sha256": hashlib.sha256(content).hexdigest(),
        "base_sha256": load(content)["base_sha256"].tobytes().hex(),
        "recipe_commit": commit,
        "training": json.loads(adapter.with_suffix(".json").read_text("utf-8")),
        "figures": {path.stem: json.loads(path.read_text("utf-8"))["figures"] for path in figures},
    }
    DATA.mkdir(exist_ok=True)
    (DATA / "trade-adapter.safetensors").write_bytes(content)
    text = json.dumps(card, indent=1, ensure_ascii=False)
    (DATA / "trade-adapter.json").write_text(text + "\n", "utf-8")


if __name__ == "__main__":
    main()
