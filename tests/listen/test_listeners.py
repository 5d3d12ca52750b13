"""Who listens, and by which names a record knows them."""

from pathlib import Path

import pytest

from pipeline.errors import WeightsError
from pipeline.listen import listeners
from pipeline.listen.listeners import Listeners, Listening


@pytest.mark.parametrize(
    ("listening", "first", "second"),
    [
        (Listening(), "whisper-base+trade", None),
        (Listening(adapter="none"), "whisper-base", None),
        (
            Listening(adapter="a/shop.safetensors"),
            "whisper-base+shop.safetensors",
            None,
        ),
        (Listening(speech_model="large"), "large", None),
        (Listening(speech_model="large", adapter="none"), "large", None),
        (Listening(second_model="large"), "whisper-base+trade", "large"),
        (Listening(speech_model="small", second_model="large"), "small", "large"),
    ],
)
def test_names_are_those_of_the_models_loaded(
    monkeypatch: pytest.MonkeyPatch, listening: Listening, first: str, second: str | None
) -> None:
    monkeypatch.setattr(
        listeners,
        "load_speech_model",
        lambda choice, _device, _threads, adapter: listeners.model_name(choice, adapter),
    )
    both = Listeners(listening)
    assert (listening.first_name, listening.second_name) == (first, second)
    assert (both.first, both.second) == (first, second)


def test_a_folder_is_known_by_its_name(tmp_path: Path) -> None:
    folder = tmp_path / "ours"
    folder.mkdir()
    assert Listening(speech_model=str(folder)).first_name == "ours"


def test_an_adapter_is_refused_on_other_weights() -> None:
    with pytest.raises(WeightsError, match="leave out --speech-model"):
        Listening(speech_model="large", adapter="shop.safetensors").load_first()
