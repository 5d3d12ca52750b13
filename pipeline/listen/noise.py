"""How far the talk of a recording stands above its noise."""

import numpy as np

from pipeline.models import Audio

_FRAME_S = 0.025
_LOUD, _QUIET = 95, 10  # percentiles of the levels: talk, and the pauses between
_SILENT = 1e-10  # power; a full scale is 1


def above_noise_db(audio: Audio) -> float | None:
    """By how many dB the loud of a recording stands above its quiet; None of one without sound.

    Levels are of 25 ms. Talk in a quiet room stands some 40 dB above its pauses; over an engine or
    in the wind it is 15 to 28, since the noise fills them.
    """
    length = round(_FRAME_S * audio.rate)
    count = len(audio.samples) // length
    if not count:
        return None
    frames = audio.samples[: count * length].reshape(count, length)
    power = np.einsum("ij,ij->i", frames, frames) / length  # no copy of hours of sound
    loud, quiet = np.percentile(10 * np.log10(power + _SILENT), (_LOUD, _QUIET))
    return round(float(loud - quiet), 1)
