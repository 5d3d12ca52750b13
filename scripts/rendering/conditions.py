"""What a recording goes through between the speaker and the file: rooms, noises, a telephone.

Every function is deterministic by its seed and keeps the length and the clock of the sound.
Signal-to-noise ratios compare the active speech level with the mean level of the noise, in dB.
"""

from collections.abc import Callable

import av
import numpy as np
from numpy.typing import NDArray

from rendering.sound import RATE, Samples, active_dbfs, resampled

QUIET = ("clean", "room")
NOISY = ("shop15", "shop8", "wind", "idle", "phone")
NAMES = (*QUIET, *NOISY)

_CEILING = 0.97
_PHONE_RATE = 8000
_PHONE_BIT_RATE = 7950  # a mode of AMR-NB (3GPP TS 26.071)

Wave = NDArray[np.float64]
Random = np.random.Generator


def recorded(speech: Samples, condition: str, seed: int) -> Samples:
    """The speech as recorded in a condition; raises KeyError where there is none of that name."""
    heard = _CONDITIONS[condition](speech, np.random.default_rng(seed))
    peak = float(np.abs(heard).max())
    return heard if peak <= _CEILING else heard * np.float32(_CEILING / peak)


def with_noise(speech: Samples, noise: Wave, snr_db: float) -> Samples:
    """Adds a noise so much below the active speech level (above it where negative)."""
    wanted_dbfs = active_dbfs(speech) - snr_db
    gain = float(10 ** (wanted_dbfs / 20) / np.sqrt(np.mean(noise**2)))
    return (speech + gain * noise).astype(np.float32)


def _clean(speech: Samples, random: Random) -> Samples:
    return with_noise(speech, _hiss(len(speech), random), 42)


def _room(speech: Samples, random: Random) -> Samples:
    echo_s, direct_to_echo_db = 0.35, 4.0
    times = np.arange(round(echo_s * RATE)) / RATE
    # 60 dB down after `echo_s`; the first reflection comes after 4 ms, about 1.4 m.
    tail = random.standard_normal(len(times)) * 10 ** (-3 * times / echo_s) * (times > 0.004)
    tail = _shaped(tail, lambda hz: 1 / (1 + (hz / 3500) ** 2))
    tail *= 10 ** (-direct_to_echo_db / 20) / np.sqrt(np.sum(tail**2))
    tail[0] += 1.0
    return with_noise(_convolved(speech, tail), _hiss(len(speech), random), 36)


def _phone(speech: Samples, random: Random) -> Samples:
    noisy = with_noise(speech, _hiss(len(speech), random), 36).astype(np.float64)
    band = _shaped(noisy, lambda hz: _band(hz, 300, 3400, 8))
    sent = resampled(band.astype(np.float32), RATE, _PHONE_RATE)
    back = resampled(_through_codec(sent), _PHONE_RATE)[: len(speech)]
    return np.pad(back, (0, len(speech) - len(back)))


def _shop(snr_db: float) -> Callable[[Samples, Random], Samples]:
    return lambda speech, random: with_noise(speech, shop_noise(len(speech), random), snr_db)


def _wind(speech: Samples, random: Random) -> Samples:
    return with_noise(speech, wind_noise(len(speech), random), 10)


def _idle(speech: Samples, random: Random) -> Samples:
    return with_noise(speech, engine_noise(len(speech), random), 10)


_CONDITIONS: dict[str, Callable[[Samples, Random], Samples]] = {
    "clean": _clean,
    "room": _room,
    "phone": _phone,
    "shop15": _shop(15),
    "shop8": _shop(8),
    "wind": _wind,
    "idle": _idle,
}


# --- noises: any level, shape (count,) ----------------------------------------------------------


def shop_noise(count: int, random: Random) -> Wave:
    """A workshop: compressor hum that comes and goes, air ratchet, clanks, broadband."""
    hum = _harmonics(_wandering(count, random, 29.0, 0.3), 14, 0.7)
    hum *= 0.3 + 0.7 * (_slow(count, random, 0.08) > 0)
    broadband = _shaped(random.standard_normal(count), lambda hz: 1 / np.sqrt(1 + (hz / 400) ** 2))
    sources = [_unit(hum), 0.8 * _unit(broadband)]
    sources += [1.1 * _unit(_air_ratchet(count, random)), 0.8 * _unit(_clanks(count, random))]
    return np.asarray(sum(sources))


def wind_noise(count: int, random: Random) -> Wave:
    """Wind on a microphone: rumble below some 200 Hz in gusts, with a little hiss."""
    rumble = _shaped(random.standard_normal(count), lambda hz: 1 / (1 + (hz / 180) ** 2))
    gusts = np.exp(0.9 * _slow(count, random, 0.5))
    return np.asarray(_unit(rumble) * gusts + 0.05 * gusts * random.standard_normal(count))


def engine_noise(count: int, random: Random) -> Wave:
    """An engine ticking over at some 22 firings a second, uneven, with valve clatter."""
    firing = _wandering(count, random, float(random.uniform(18, 26)), 1.2)
    loping = 1 + 0.4 * np.sin(2 * np.pi * np.cumsum(firing / 2) / RATE)
    exhaust = _shaped(
        _harmonics(firing, 60, 0.5) * loping,
        lambda hz: 1 / (1 + (hz / 350) ** 2) + 0.15 * np.exp(-(((hz - 900) / 300) ** 2)),
    )
    stroke = np.maximum(0, np.sin(2 * np.pi * np.cumsum(firing) / RATE)) ** 12
    clatter = _shaped(random.standard_normal(count) * stroke, lambda hz: _band(hz, 1200, 4500, 2))
    return np.asarray(_unit(exhaust) + 0.25 * _unit(clatter))


def _air_ratchet(count: int, random: Random) -> Wave:
    blows = (np.sin(2 * np.pi * np.cumsum(_wandering(count, random, 38.0, 3.0)) / RATE) > 0.6) + 0.3
    bursts = np.zeros(count)
    for start in _moments(count, random, every_s=9.0):
        length = round(float(random.uniform(0.3, 1.2)) * RATE)
        bursts[start : start + length] = random.uniform(0.5, 1.0)
    noise = _shaped(random.standard_normal(count), lambda hz: _band(hz, 900, 5000, 2))
    return np.asarray(noise * blows * bursts)


def _clanks(count: int, random: Random) -> Wave:
    clanks = np.zeros(count + RATE)
    times = np.arange(RATE // 2) / RATE
    for start in _moments(count, random, every_s=3.0):
        ring = np.zeros(len(times))
        for hz in random.uniform(500, 5000, 6):
            ring += np.sin(2 * np.pi * hz * times) * np.exp(-times * random.uniform(12, 40))
        clanks[start : start + len(times)] += ring * random.uniform(0.2, 1.0)
    return clanks[:count]


def _hiss(count: int, random: Random) -> Wave:
    """What a microphone and a quiet yard leave: a falling spectrum, faint."""
    return _shaped(random.standard_normal(count), lambda hz: 1 / np.sqrt(1 + (hz / 200) ** 2))


# --- building blocks ----------------------------------------------------------------------------


def _unit(wave: Wave) -> Wave:
    power = np.mean(wave**2)
    return wave / np.sqrt(power) if power else wave


def _moments(count: int, random: Random, every_s: float) -> NDArray[np.int64]:
    """Random moments, so far apart on average; one at least."""
    return random.integers(0, count, max(1, round(count / RATE / every_s)))


def _shaped(wave: Wave, response: Callable[[Wave], Wave]) -> Wave:
    """The wave with its spectrum multiplied by a response over frequency in Hz."""
    hz = np.fft.rfftfreq(len(wave), 1 / RATE).astype(np.float64)
    return np.fft.irfft(np.fft.rfft(wave) * response(hz), len(wave))


def _band(hz: Wave, low: float, high: float, order: int) -> Wave:
    """Response of a Butterworth band pass (magnitude alone)."""
    below = np.divide(low, hz, out=np.full_like(hz, np.inf), where=hz > 0)
    return np.asarray(1 / np.sqrt((1 + below ** (2 * order)) * (1 + (hz / high) ** (2 * order))))


def _slow(count: int, random: Random, hz: float) -> Wave:
    """A random curve of unit variance that changes no faster than `hz`, at audio rate."""
    points = max(4, round(count / RATE * hz * 2) + 2)
    curve = np.interp(
        np.linspace(0, points - 1, count), np.arange(points), random.standard_normal(points)
    )
    return np.asarray(curve)


def _wandering(count: int, random: Random, hz: float, spread_hz: float) -> Wave:
    """A frequency that wanders about a mean, with the jitter of single turns."""
    return hz + spread_hz * (_slow(count, random, 0.4) + 0.5 * _slow(count, random, 12.0))


def _harmonics(hz: Wave, partials: int, fall: float) -> Wave:
    """The first partials of a wandering tone, each weaker by its number to the power `fall`."""
    phase = 2 * np.pi * np.cumsum(hz) / RATE
    return np.asarray(sum(np.sin(k * phase + k * k) / k**fall for k in range(1, partials + 1)))


def _convolved(speech: Samples, response: Wave) -> Samples:
    size = len(speech) + len(response) - 1
    product = np.fft.rfft(speech, size) * np.fft.rfft(response, size)
    return np.fft.irfft(product, size)[: len(speech)].astype(np.float32)


def _through_codec(samples: Samples) -> Samples:
    """Encoded and decoded by AMR-NB, the narrow-band codec of mobile telephony."""
    encoder = av.CodecContext.create("libopencore_amrnb", "w")
    encoder.sample_rate, encoder.layout, encoder.format = _PHONE_RATE, "mono", "s16"
    encoder.bit_rate = _PHONE_BIT_RATE
    decoder = av.CodecContext.create("libopencore_amrnb", "r")
    decoder.sample_rate, decoder.layout = _PHONE_RATE, "mono"
    block = _PHONE_RATE // 50  # 20 ms
    padded = np.pad(samples, (0, -len(samples) % block))
    pcm = (np.clip(padded, -1, 1) * 32767).astype(np.int16).reshape(-1, 1, block)
    heard = []
    for part in pcm:
        frame = av.AudioFrame.from_ndarray(part, format="s16", layout="mono")
        frame.sample_rate = _PHONE_RATE
        heard += [out for packet in encoder.encode(frame) for out in decoder.decode(packet)]
    heard += [out for packet in encoder.encode(None) for out in decoder.decode(packet)]
    return np.concatenate([_floats(frame) for frame in heard])


def _floats(frame: av.AudioFrame) -> Samples:
    samples = frame.to_ndarray().reshape(-1)
    if np.issubdtype(samples.dtype, np.integer):
        return (samples / 32768).astype(np.float32)
    return samples.astype(np.float32)
