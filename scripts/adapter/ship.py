"""Puts a trained adapter into the program, with a card that says what it is.

    python scripts/adapter/ship.py build/adapter/trade.safetensors \\
        --figures build/adapter/figures.json --commit $(git rev-parse --short HEAD)

Beside trade.safetensors lies trade.json, which training wrote; figures.json is what compare.py
wrote.
"""

import hashlib
import json
from pathlib import Path

import click
from safetensors.numpy import load

DATA = Path(__file__).resolve().parents[2] / "pipeline" / "listen" / "data"


@click.command()
@click.argument("adapter", type=click.Path(path_type=Path, exists=True))
@click.option("--figures", multiple=True, type=click.Path(path_type=Path, exists=True))
@click.option("--commit", required=True, help="Of the scripts that trained it.")
def main(adapter: Path, figures: tuple[Path, ...], commit: str) -> None:
    """Writes data/trade-adapter.safetensors and data/trade-adapter.json."""
    content = adapter.read_bytes()
    card = {
        "about": "Low-rank products for Whisper base in CTranslate2 form, trained on trade talk; "
        "added in memory by pipeline/listen/adapter.py. Errors are shares of the words said.",
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
