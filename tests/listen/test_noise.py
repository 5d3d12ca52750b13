"""How far talk stands above noise."""

import numpy as np
import pytest

from pipeline.listen.noise import above_noise_db
from pipeline.models import Audio

RATE = 16_000


def talk_over(noise: float) -> Audio:
    """Ten times half a second of a tone (its level -9 dB) and as long a pause, with noise."""
    tone = 0.5 * np.sin(2 * np.pi * 440 * np.arange(RATE // 2) / RATE)
    said = np.tile(np.concatenate([tone, np.zeros(RATE // 2)]), 10)
    hiss = noise * np.random.default_rng(1).standard_normal(len(said))
    return Audio((said + hiss).astype(np.float32), RATE)


@pytest.mark.parametrize("below_db", [10.0, 20.0, 40.0])
def test_it_is_the_ratio_of_talk_to_noise(below_db: float) -> None:
    noise = np.sqrt(0.125) * 10 ** (-below_db / 20)  # a tone of 0.5 has a power of 0.125
    assert above_noise_db(talk_over(noise)) == pytest.approx(below_db, abs=1.5)


def test_how_loud_the_recording_is_does_not_matter() -> None:
    loud = talk_over(0.01)
    soft = Audio(loud.samples * np.float32(0.1), RATE)
    assert above_noise_db(soft) == pytest.approx(above_noise_db(loud), abs=0.1)


def test_silence_has_neither_talk_nor_noise() -> None:
    assert above_noise_db(Audio(np.zeros(RATE, np.float32), RATE)) == 0.0
    assert above_noise_db(Audio(np.zeros(10, np.float32), RATE)) is None
