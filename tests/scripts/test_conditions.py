import numpy as np
import pytest
from rendering import conditions
from rendering.sound import RATE, Samples, active_dbfs

SNR_DB = {"shop15": 15, "shop8": 8, "wind": 10, "idle": 10}


@pytest.fixture(scope="module")
def speech() -> Samples:
    """Twelve seconds of tone bursts with silence between, at about a voice's level."""
    times = np.arange(12 * RATE) / RATE
    voiced = (times % 2.0) < 1.2
    tone = 0.1 * np.sin(2 * np.pi * 220 * times) * voiced
    return np.asarray(tone, np.float32)


@pytest.mark.parametrize("name", conditions.NAMES)
def test_a_condition_is_the_same_for_the_same_seed(speech: Samples, name: str) -> None:
    once, again = (conditions.recorded(speech, name, seed=7) for _ in range(2))
    assert np.array_equal(once, again)
    assert once.dtype == np.float32
    assert once.shape == speech.shape
    assert np.abs(once).max() <= 1
    assert not np.array_equal(once, conditions.recorded(speech, name, seed=8))


@pytest.mark.parametrize(("name", "wanted_db"), SNR_DB.items())
def test_noise_is_as_far_below_active_speech_as_asked(
    speech: Samples, name: str, wanted_db: float
) -> None:
    heard = conditions.recorded(speech, name, seed=3)
    gain = np.dot(heard, speech) / np.dot(
        speech, speech
    )  # all is turned down where peaks would clip
    noise = heard - gain * speech
    noise_dbfs = 10 * np.log10(np.mean(noise**2))
    assert active_dbfs(gain * speech) - noise_dbfs == pytest.approx(wanted_db, abs=0.5)


def test_the_telephone_keeps_its_band_and_the_clock(speech: Samples) -> None:
    heard = conditions.recorded(speech, "phone", seed=1)
    power = np.abs(np.fft.rfft(heard)) ** 2
    hz = np.fft.rfftfreq(len(heard), 1 / RATE)
    assert power[hz > 4100].sum() < 1e-3 * power.sum()
    late = int(np.argmax(np.correlate(np.abs(heard[:RATE]), np.abs(speech[:RATE]), "full")))
    assert abs(late - (RATE - 1)) < 0.02 * RATE


def test_a_room_rings_after_the_speech_stops(speech: Samples) -> None:
    heard = conditions.recorded(speech, "room", seed=1)
    after, later = heard[int(1.22 * RATE) : int(1.3 * RATE)], heard[int(1.8 * RATE) : 2 * RATE]
    assert np.mean(after**2) > 3 * np.mean(later**2)
