"""Puts a trained adapter into the program, with a card that says what it is.

    python scripts/adapter/ship.py build/adapter/trade.npz --figures build/adapter/figures.json \\
        --commit $(git rev-parse --short HEAD)

Beside trade.npz lies trade.json, which training wrote; figures.json is what compare.py wrote.
"""

import hashlib
import json
from pathlib import Path

import click
import numpy as np

DATA = Path(__file__).resolve().parents[2] / "pipeline" / "listen" / "data"


@click.command()
@click.argument("adapter", type=click.Path(path_type=Path, exists=True))
@click.option("--figures", multiple=True, type=click.Path(path_type=Path, exists=True))
@click.option("--commit", required=True, help="Of the scripts that trained it.")
def main(adapter: Path, figures: tuple[Path, ...], commit: str) -> None:
    """Writes data/trade-adapter.npz and data/trade-adapter.json."""
    content = adapter.read_bytes()
    card = {
        "about": "Low-rank products for Whisper base in CTranslate2 form, trained on trade talk; "
        "added in memory by pipeline/listen/adapter.py. Errors are shares of the words said.",
        "sha256": hashlib.sha256(content).hexdigest(),
        "base_sha256": str(np.load(adapter)["base_sha256"]),
        "recipe_commit": commit,
        "training": json.loads(adapter.with_suffix(".json").read_text("utf-8")),
        "figures": {path.stem: json.loads(path.read_text("utf-8"))["figures"] for path in figures},
    }
    DATA.mkdir(exist_ok=True)
    (DATA / "trade-adapter.npz").write_bytes(content)
    text = json.dumps(card, indent=1, ensure_ascii=False)
    (DATA / "trade-adapter.json").write_text(text + "\n", "utf-8")


if __name__ == "__main__":
    main()
