"""Who listens: the installed weights, taught the trade, and others where the user names them.

The trade adapter hears the trade's words far better, and other speech about as well as the
published weights with hot words do (`scripts/adapter/README.md` has the figures). A second listener
hears doubtful lines again and is weighed beside the first (`weigh.again`).
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


@dataclass(frozen=True)
class Listening:
    """Which speech weights to listen with, and on what.

    `speech_model` is None for the installed weights, a folder, or the name of a model to download;
    `second_model` likewise for a second listener; None is none.
    `adapter` teaches the installed weights: None is the trade adapter that comes with the program,
    "none" is none, else the file of another. `threads` of 0 takes every core.
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
        return model_name(None, self._taught)

    @property
    def second_name(self) -> str | None:
        """The name under which a record's settings know the second listener, if there is one."""
        return None if self.second_model is None else model_name(self.second_model)

    @property
    def is_untaught(self) -> bool:
        """Whether the first listener knows nothing of the trade, and is given hot words."""
        return self.speech_model is not None or self._taught is None

    @property
    def _taught(self) -> str | None:
        return None if self.adapter == NO_ADAPTER else self.adapter or TRADE

    def load_first(self) -> SpeechModel:
        """Raises WeightsError where the weights cannot be loaded or take no adapter."""
        if self.speech_model is None:
            return self._load(None, self._taught)
        if self.adapter not in (None, NO_ADAPTER):
            raise WeightsError(
                "an adapter belongs to the default weights; leave out --speech-model"
            )
        return self._load(self.speech_model)

    def load_second(self) -> SpeechModel:
        """As `load_first`."""
        return self._load(self.second_model)

    def _load(self, choice: str | None, adapter: str | None = None) -> SpeechModel:
        return load_speech_model(choice, self.device, self.threads, adapter)


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
