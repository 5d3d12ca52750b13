"""Small tools on mono sound: float32 in [-1, 1], shape (n,), at `RATE` samples a second."""

from fractions import Fraction

import av
import numpy as np
from numpy.typing import NDArray

RATE = 16_000
FRAME = RATE // 100  # 10 ms, the grain of loudness measures
SPEECH_DBFS = -23.0  # active level that every voice is brought to

Samples = NDArray[np.float32]


def silence(seconds: float) -> Samples:
    """Zeros."""
    return np.zeros(round(seconds * RATE), np.float32)


def resampled(samples: Samples, rate: int, wanted: int = RATE) -> Samples:
    """The same sound at another number of samples a second (libswresample)."""
    if rate == wanted:
        return samples
    resampler = av.AudioResampler(format="flt", layout="mono", rate=wanted)
    pieces = [*resampler.resample(_frame(samples, rate)), *resampler.resample(None)]
    return np.concatenate([piece.to_ndarray().reshape(-1) for piece in pieces])


def stretched(samples: Samples, rate: float) -> Samples:
    """Said `rate` times as fast at the same pitch (libavfilter's `atempo`)."""
    if rate == 1 or not len(samples):
        return samples
    graph = av.filter.Graph()
    graph.link_nodes(
        graph.add_abuffer(
            format="flt", sample_rate=RATE, layout="mono", time_base=Fraction(1, RATE)
        ),
        graph.add("atempo", str(rate)),
        graph.add("abuffersink"),
    ).configure()
    graph.push(_frame(samples))
    graph.push(None)
    pieces = []
    while True:
        try:
            pieces.append(graph.pull().to_ndarray().reshape(-1))
        except (av.BlockingIOError, av.EOFError):
            return np.concatenate(pieces)


def _frame(samples: Samples, rate: int = RATE) -> av.AudioFrame:
    frame = av.AudioFrame.from_ndarray(samples.reshape(1, -1), format="flt", layout="mono")
    frame.sample_rate = rate
    frame.pts = 0
    frame.time_base = Fraction(1, rate)
    return frame


def frame_powers(samples: Samples) -> NDArray[np.float64]:
    """Mean power of each whole 10 ms frame."""
    whole = len(samples) // FRAME * FRAME
    frames = samples[:whole].astype(np.float64).reshape(-1, FRAME)
    return np.asarray(np.mean(frames**2, axis=1))


def active(samples: Samples) -> NDArray[np.bool_]:
    """Which 10 ms frames hold speech: those within 30 dB of the loudest twentieth."""
    powers = frame_powers(samples)
    if not len(powers) or powers.max() <= 0:
        return np.zeros(len(powers), np.bool_)
    return np.asarray(powers > np.quantile(powers, 0.95) * 1e-3)


def active_dbfs(samples: Samples) -> float:
    """Level of the speech frames alone, in dB below full scale."""
    powers = frame_powers(samples)[active(samples)]
    return float(10 * np.log10(powers.mean())) if len(powers) else -np.inf


def trimmed(samples: Samples, margin_s: float = 0.02) -> Samples:
    """Without the silence before the first and after the last speech frame, less a margin."""
    frames = np.flatnonzero(active(samples))
    if not len(frames):
        return samples[:0]
    margin = round(margin_s * RATE)
    start = max(0, int(frames[0]) * FRAME - margin)
    return samples[start : (int(frames[-1]) + 1) * FRAME + margin]


def levelled(samples: Samples, dbfs: float = SPEECH_DBFS) -> Samples:
    """Brought to an active speech level."""
    return (samples * 10 ** ((dbfs - active_dbfs(samples)) / 20)).astype(np.float32)
