"""The mean of several adapters, at the rank of the first.

    python scripts/adapter/mean.py build/adapter/old.safetensors build/adapter/new.safetensors \\
        --out build/adapter/mean

Adapters trained on the same weights from other texts or seeds err in other places; the mean of
their products keeps what they agree on: Wortsman et al., "Model soups", ICML 2022. The mean of low
ranks has a higher one; it is cut back to the rank of the first by singular values (Eckart and
Young, Psychometrika 1, 1936). Beside each adapter lies its .json, which training wrote.
"""

import json
from pathlib import Path

import click
import numpy as np
from safetensors.numpy import load, save

from pipeline.listen.adapter import Matrix, factors

Product = tuple[Matrix, Matrix]  # m x rank, rank x n
BASE = "base_sha256"


def cut(ups: list[Matrix], downs: list[Matrix], rank: int) -> tuple[Product, float]:
    """The product of that rank nearest to the mean of some products, and the share it keeps.

    The share is that of the squared singular values.
    """
    left, right = np.hstack(ups) / len(ups), np.vstack(downs)
    q_left, r_left = np.linalg.qr(left)
    q_right, r_right = np.linalg.qr(right.T)
    u, s, v = np.linalg.svd(r_left @ r_right.T)
    root = np.sqrt(s[:rank])
    kept = float((s[:rank] ** 2).sum() / (s**2).sum())
    return (q_left @ u[:, :rank] * root, (root[:, None] * v[:rank]) @ q_right.T), kept


@click.command()
@click.argument("adapters", nargs=-1, required=True, type=click.Path(path_type=Path, exists=True))
@click.option("--out", type=click.Path(path_type=Path), required=True)
def main(adapters: tuple[Path, ...], out: Path) -> None:
    """Writes OUT.safetensors and OUT.json, which has the records of all of them."""
    parts = [load(path.read_bytes()) for path in adapters]
    if len({own[BASE].tobytes() for own in parts}) > 1:
        raise click.ClickException("these adapters belong to different speech weights")
    arrays = {BASE: parts[0][BASE]}
    shares = []
    products = [factors(own) for own in parts]
    for target in products[0]:
        ups, downs = ([own[target][end] for own in products] for end in (0, 1))
        (up, down), kept = cut(ups, downs, ups[0].shape[1])
        shares.append(kept)
        arrays |= {f"{target}.up": up.astype("<f2"), f"{target}.down": down.astype("<f2")}
    out.parent.mkdir(parents=True, exist_ok=True)
    out.with_suffix(".safetensors").write_bytes(save(arrays))
    records = [json.loads(path.with_suffix(".json").read_text("utf-8")) for path in adapters]
    record = {"mean_of": [one.get("training", one) for one in records]}
    out.with_suffix(".json").write_text(json.dumps(record, indent=1) + "\n", "utf-8")
    click.echo(f"{len(shares)} products; of each at least {min(shares):.1%} is kept")


if __name__ == "__main__":
    main()
