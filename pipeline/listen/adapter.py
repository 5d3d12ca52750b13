"""The trade adapter: small low-rank products, added to the published speech weights in memory.

The weights file of CTranslate2 (binary version 6; `python/ctranslate2/specs/model_spec.py` of the
OpenNMT/CTranslate2 repository writes it) is little-endian: version, the spec's name, its revision
and the number of arrays; then for each array its name, rank, shape, type, byte length and bytes;
then aliases. Texts have a length of two bytes and end in a zero byte.

An adapter is a safetensors file: for an array NAME of m x n numbers, `NAME.up` is m x rank and
`NAME.down` rank x n. They are floats, or whole numbers of 8 bits beside `NAME.scale`, which says
what each rank's products count. The 32 bytes of `base_sha256` say which weights file it was
trained on.
"""

import hashlib
import json
import math
import struct
from collections.abc import Iterator, Mapping
from importlib import resources
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from safetensors import SafetensorError
from safetensors.numpy import load

from pipeline.errors import WeightsError

_VERSION, _SPEC, _REVISION = 6, "WhisperSpec", 3
_FLOAT16 = 4  # the format's number for the type

Matrix = NDArray[np.float32]


class Spot(NamedTuple):
    """Where a float16 array lies in a weights file: offset in bytes, and shape."""

    offset: int
    shape: tuple[int, ...]


def shipped() -> bytes:
    """The adapter that comes with the program, equal to the digest on its card, which describes it.

    Raises WeightsError where it is damaged.
    """
    data = resources.files("pipeline.listen") / "data"
    content = (data / "trade-adapter.safetensors").read_bytes()
    card = json.loads((data / "trade-adapter.json").read_bytes())
    if hashlib.sha256(content).hexdigest() != card["sha256"]:
        raise WeightsError("the trade adapter is damaged; install wearword again")
    return content


def merged(model_bin: bytes, adapter: Path | bytes) -> bytes:
    """The weights file with an adapter's products added to the arrays it names.

    Raises WeightsError where the adapter cannot be read or does not fit the weights.
    """
    name = str(adapter) if isinstance(adapter, Path) else "the trade adapter"
    try:
        parts = load(adapter if isinstance(adapter, bytes) else adapter.read_bytes())
        base_sha256 = parts.pop("base_sha256").tobytes().hex()
    except (OSError, KeyError, SafetensorError) as error:
        raise WeightsError(f"{name}: is no adapter for speech weights") from error
    if hashlib.sha256(model_bin).hexdigest() != base_sha256:
        raise WeightsError(
            f"{name}: belongs to other speech weights (SHA-256 {base_sha256[:12]}...); "
            "run without an adapter"
        )
    places = spots(model_bin)
    content = bytearray(model_bin)
    try:
        for target, (up, down) in factors(parts).items():
            offset, shape = places[target]
            # A view: adding in place changes `content`.
            weights = np.frombuffer(content, "<f2", math.prod(shape), offset).reshape(shape)
            weights[...] = weights + up @ down
    except (KeyError, ValueError) as error:
        raise WeightsError(f"{name}: does not fit the speech weights") from error
    return bytes(content)


def factors(parts: Mapping[str, NDArray[np.generic]]) -> dict[str, tuple[Matrix, Matrix]]:
    """The two factors of each product in an adapter's arrays, m x rank and rank x n, by its name.

    Raises KeyError where one of them is missing.
    """
    found: dict[str, tuple[Matrix, Matrix]] = {}
    for name in sorted({name for key in parts if (name := key.rpartition(".")[0])}):
        up, down = (parts[f"{name}.{end}"].astype(np.float32) for end in ("up", "down"))
        scale = parts.get(f"{name}.scale")
        found[name] = (up if scale is None else up * scale.astype(np.float32), down)
    return found


def spots(model_bin: bytes) -> dict[str, Spot]:
    """Where each float16 array of a Whisper weights file lies.

    Raises WeightsError where the file is of another make.
    """
    try:
        return dict(_read(model_bin))
    except (struct.error, UnicodeDecodeError) as error:
        raise WeightsError("the speech weights are cut short or damaged") from error


def _read(model_bin: bytes) -> Iterator[tuple[str, Spot]]:
    at = 0

    def number(form: str) -> int:
        nonlocal at
        (value,) = struct.unpack_from(f"<{form}", model_bin, at)
        at += struct.calcsize(form)
        return int(value)

    def text() -> str:
        nonlocal at
        length = number("H")
        at += length
        return model_bin[at - length : at - 1].decode()

    if (number("I"), text(), number("I")) != (_VERSION, _SPEC, _REVISION):
        raise WeightsError(
            "the speech weights are no Whisper model in a form that takes an adapter"
        )
    for _ in range(number("I")):
        name = text()
        shape = tuple(number("I") for _ in range(number("B")))
        kind, length = number("B"), number("I")
        if kind == _FLOAT16:
            yield name, Spot(at, shape)
        at += length
