"""Who listens: one model hears a whole recording, a second again what the first was unsure of.

The trade adapter in full hears the trade best, but speech about other things worse than the
published weights do (DEVELOPERS.md has the figures). So the first listener is taught a part of it,
which costs general speech nothing that counts; the second, whose words are weighed before they are
believed (`weigh.again`), all of it.
"""

from dataclasses import dataclass
from functools import cached_property

from pipeline.errors import WeightsError
from pipeline.listen.weights import (
    NO_ADAPTER,
    TRADE,
    Device,
    SpeechModel,
    load_speech_model,
    model_name,
)

# Of the adapter, for the first listener: at 0.3 recorded human speech was heard 0.15 points worse,
# at 0.4 0.7 points, in full 2.8.
FIRST_STRENGTH = 0.3


@dataclass(frozen=True)
class Listening:
    """Which speech weights to listen with, and on what.

    `speech_model` is None for the installed weights, a folder, or the name of a model to download;
    `second_model` likewise for the second listener, who is otherwise the installed weights taught
    the trade. `adapter` teaches the installed weights: None is the trade adapter that comes with
    the program, "none" is none, else the file of another. `threads` of 0 takes every core.
    """

    speech_model: str | None = None
    second_model: str | None = None
    adapter: str | None = None
    device: Device = "auto"
    threads: int = 0

    @property
    def first_name(self) -> str:
        """The name under which a record's settings know the first listener."""
        if self.speech_model is not None:
            return model_name(self.speech_model)
        return model_name(None, self._taught, FIRST_STRENGTH)

    @property
    def second_name(self) -> str | None:
        """The name under which a record's settings know the second listener, if there is one."""
        if self.second_model is not None:
            return model_name(self.second_model)
        if self.speech_model is not None or self._taught is None:
            return None
        return model_name(None, self._taught)

    @property
    def _taught(self) -> str | None:
        return None if self.adapter == NO_ADAPTER else self.adapter or TRADE

    def load_first(self) -> SpeechModel:
        """Raises WeightsError where the weights cannot be loaded or take no adapter."""
        if self.speech_model is None:
            return self._load(None, self._taught, FIRST_STRENGTH)
        if self.adapter not in (None, NO_ADAPTER):
            raise WeightsError(
                "an adapter belongs to the default weights; leave out --speech-model"
            )
        return self._load(self.speech_model)

    def load_second(self) -> SpeechModel:
        """As `load_first`."""
        if self.second_model is None:
            return self._load(None, self._taught)
        return self._load(self.second_model)

    def _load(
        self, choice: str | None, adapter: str | None = None, strength: float = 1.0
    ) -> SpeechModel:
        return load_speech_model(choice, self.device, self.threads, adapter, strength)


class Listeners:
    """The two models, each loaded once, when it is first needed."""

    def __init__(self, listening: Listening) -> None:
        self.listening = listening

    @cached_property
    def first(self) -> SpeechModel:
        """Who hears the whole recording. Raises WeightsError."""
        return self.listening.load_first()

    @cached_property
    def second(self) -> SpeechModel | None:
        """Who hears again what the first was unsure of, if anybody. Raises WeightsError."""
        return None if self.listening.second_name is None else self.listening.load_second()
