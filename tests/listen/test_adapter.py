import hashlib
import json
import struct
from importlib import resources
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from safetensors.numpy import save

from pipeline.errors import WeightsError
from pipeline.listen.adapter import merged, shipped, spots
from pipeline.listen.weights import default_files

MATRIX = np.arange(12, dtype=np.float16).reshape(3, 4)
OTHER = np.full((2, 2), 7, dtype=np.float16)


def _text(value: str) -> bytes:
    return struct.pack("<H", len(value) + 1) + value.encode() + b"\0"


def _weights_file(version: int = 6, spec: str = "WhisperSpec", revision: int = 3) -> bytes:
    """A weights file with a flag, two matrices and an alias."""
    arrays: dict[str, tuple[int, NDArray[np.generic]]] = {
        "decoder/flag": (1, np.array(1, np.int8)),
        "decoder/matrix": (4, MATRIX),
        "decoder/other": (4, OTHER),
    }
    content = struct.pack("<I", version) + _text(spec) + struct.pack("<II", revision, len(arrays))
    for name, (kind, array) in arrays.items():
        content += _text(name) + struct.pack(f"<B{array.ndim}I", array.ndim, *array.shape)
        content += struct.pack("<BI", kind, array.nbytes) + array.tobytes()
    return content + struct.pack("<I", 1) + _text("decoder/again") + _text("decoder/matrix")


def _adapter(model_bin: bytes, **arrays: NDArray[np.generic]) -> bytes:
    base_sha256 = np.frombuffer(hashlib.sha256(model_bin).digest(), np.uint8)
    return save({"base_sha256": base_sha256, **arrays})


def _pair(name: str, rows: int, columns: int) -> dict[str, NDArray[np.float16]]:
    up = np.full((rows, 2), 0.5, np.float16)
    return {f"{name}.up": up, f"{name}.down": np.ones((2, columns), np.float16)}


def test_finds_the_matrices() -> None:
    found = spots(_weights_file())
    assert {name: spot.shape for name, spot in found.items()} == {
        "decoder/matrix": (3, 4),
        "decoder/other": (2, 2),
    }


def test_adds_the_product_and_touches_nothing_else() -> None:
    base = _weights_file()
    offset = spots(base)["decoder/matrix"].offset
    end = offset + MATRIX.nbytes
    found = merged(base, _adapter(base, **_pair("decoder/matrix", 3, 4)))
    assert np.array_equal(np.frombuffer(found[offset:end], "<f2").reshape(3, 4), MATRIX + 1)
    assert (found[:offset], found[end:]) == (base[:offset], base[end:])


def test_factors_of_8_bits_count_what_their_scale_says() -> None:
    base = _weights_file()
    offset = spots(base)["decoder/matrix"].offset
    up = np.array([[2, 0], [0, 100], [0, 0]], np.int8)
    down = np.array([[1, 0, 0, 0], [0, 0, 0, 3]], np.int8)
    scale = np.array([0.5, 0.01], np.float32)
    arrays = {"up": up, "down": down, "scale": scale}
    found = merged(base, _adapter(base, **{f"decoder/matrix.{k}": v for k, v in arrays.items()}))
    added = np.frombuffer(found, "<f2", MATRIX.size, offset).reshape(MATRIX.shape) - MATRIX
    expected = np.zeros(MATRIX.shape)
    expected[0, 0], expected[1, 3] = 1.0, 3.0
    assert np.allclose(added, expected, atol=0.01)


def test_takes_a_path(tmp_path: Path) -> None:
    base = _weights_file()
    content = _adapter(base, **_pair("decoder/other", 2, 2))
    path = tmp_path / "own.safetensors"
    path.write_bytes(content)
    assert merged(base, path) == merged(base, content) != base


@pytest.mark.parametrize(
    ("arrays", "message"),
    [
        (_pair("decoder/missing", 3, 4), "does not fit"),
        (_pair("decoder/matrix", 4, 3), "does not fit"),
        ({"decoder/matrix.up": np.ones((3, 2), np.float16)}, "does not fit"),
    ],
)
def test_refuses_an_adapter_that_does_not_fit(
    arrays: dict[str, NDArray[np.float16]], message: str
) -> None:
    base = _weights_file()
    with pytest.raises(WeightsError, match=message):
        merged(base, _adapter(base, **arrays))


def test_refuses_other_weights() -> None:
    adapter = _adapter(_weights_file(), **_pair("decoder/matrix", 3, 4))
    with pytest.raises(WeightsError, match="belongs to other speech weights"):
        merged(_weights_file() + b"\0", adapter)


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 cut short", b"no archive at all"])
def test_refuses_what_is_no_adapter(content: bytes) -> None:
    with pytest.raises(WeightsError, match="is no adapter"):
        merged(_weights_file(), content)


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(WeightsError, match=r"gone\.safetensors"):
        merged(_weights_file(), tmp_path / "gone.safetensors")


@pytest.mark.parametrize(
    "content",
    [
        _weights_file(version=5),
        _weights_file(spec="TransformerSpec"),
        _weights_file(revision=2),
        _weights_file()[:60],
    ],
)
def test_refuses_weights_of_another_make(content: bytes) -> None:
    with pytest.raises(WeightsError, match="speech weights"):
        spots(content)


def test_the_shipped_adapter_fits_the_installed_weights() -> None:
    base = default_files()["model.bin"]
    adapter = shipped()
    found = merged(base, adapter)
    changed = np.frombuffer(found, np.uint8) != np.frombuffer(base, np.uint8)
    assert len(found) == len(base)
    assert 0.01 < changed.mean() < 0.9
    card = json.loads(
        (resources.files("pipeline.listen") / "data" / "trade-adapter.json").read_text("utf-8")
    )
    assert card["sha256"] == hashlib.sha256(adapter).hexdigest()
    assert card["base_sha256"] == hashlib.sha256(base).hexdigest()
