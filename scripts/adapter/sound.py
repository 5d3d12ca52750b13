"""Windows of speech as a microphone in a yard, a shop or a telephone gives them, made on the card.

Waves are float tensors (batch, SAMPLES) at 16 kHz; every row gets its own room, noise and band.
"""

import math

import numpy as np
import torch
from torch import Tensor

RATE, SAMPLES, FRAMES = 16_000, 480_000, 3000
_FFT = 2**19  # a window and its echoes; transforms of odd lengths fail on some cards


def recorded(waves: Tensor, lengths: Tensor, *, noisy: float = 0.75, dull: float = 0.0) -> Tensor:
    """The waves in rooms, bands and noises of all sorts; rows without speech get noise alone."""
    batch, device = len(waves), waves.device
    level = waves.square().sum(1).div(lengths).sqrt().clamp_min(0)
    silent = level < 1e-5
    heard = _filtered(
        _dulled(waves, share=dull), _rooms(batch, device) * _bands(batch, device, narrow=0.15)
    )
    noise = noises(batch, device)
    snr_db = torch.where(
        torch.rand(batch, device=device) < noisy,
        torch.empty(batch, device=device).uniform_(2, 28),
        torch.empty(batch, device=device).uniform_(32, 50),
    )
    loudness = torch.where(silent, 10 ** (torch.empty_like(snr_db).uniform_(-60, -18) / 20), level)
    gain = loudness * 10 ** (-torch.where(silent, 0.0, snr_db) / 20)
    heard = _telephoned(heard + gain[:, None] * noise, share=0.18)
    volume = 10 ** (torch.empty(batch, 1, device=device).uniform_(-12, 8) / 20)
    within = torch.arange(SAMPLES, device=device) < lengths[:, None]
    return (heard * volume).clamp(-1, 1) * within


def noises(batch: int, device: torch.device) -> Tensor:
    """Noise of unit power: broadband, wind, engine, shop, or two of them together."""
    kinds = torch.stack(
        [
            _broadband(batch, device),
            _wind(batch, device),
            _engine(batch, device),
            _shop(batch, device),
        ]
    )
    weights = torch.rand(4, batch, 1, device=device) ** 4  # mostly one of them
    weights[3, :, 0] += (torch.rand(batch, device=device) < 0.25).float()
    return _unit((kinds * weights).sum(0))


def log_mel(waves: Tensor, lengths: Tensor, filters: Tensor) -> Tensor:
    """Log-mel frames as the recogniser's library computes them; zero past each row's end."""
    padded = torch.nn.functional.pad(waves, (0, 160))
    window = torch.hann_window(400, device=waves.device)
    power = torch.stft(padded, 400, 160, window=window, return_complex=True).abs().square()
    mel = (filters @ power[..., :FRAMES]).clamp_min(1e-10).log10()
    within = (torch.arange(FRAMES, device=waves.device) < (lengths // 160)[:, None])[:, None]
    top = mel.masked_fill(~within, -torch.inf).amax((1, 2), keepdim=True)
    return ((torch.maximum(mel, top - 8) + 4) / 4) * within


def masked(mel: Tensor) -> Tensor:
    """The frames with a few short stretches and bands blotted out, so that context must help."""
    batch, bands, frames = mel.shape
    device = mel.device
    time, band = torch.arange(frames, device=device), torch.arange(bands, device=device)
    hidden = torch.zeros(batch, 1, frames, dtype=torch.bool, device=device)
    for _ in range(3):
        start = torch.randint(0, frames, (batch, 1, 1), device=device)
        hidden |= (time >= start) & (
            time < start + torch.randint(0, 16, (batch, 1, 1), device=device)
        )
    start = torch.randint(0, bands, (batch, 1, 1), device=device)
    width = torch.randint(0, 10, (batch, 1, 1), device=device)
    cut = ((band >= start[..., 0]) & (band < start[..., 0] + width[..., 0]))[:, :, None]
    return mel.masked_fill(hidden | cut, 0.0)


def _unit(waves: Tensor) -> Tensor:
    return waves / waves.square().mean(1, keepdim=True).sqrt().clamp_min(1e-8)


def _filtered(waves: Tensor, response: Tensor) -> Tensor:
    spectrum = torch.fft.rfft(waves, _FFT) * response
    return torch.fft.irfft(spectrum, _FFT)[:, :SAMPLES]


def _rooms(batch: int, device: torch.device) -> Tensor:
    """Transfer functions: an echo that dies away in 0.1 to 0.7 s, or (one in three) none."""
    taps = 10_000
    times = torch.arange(taps, device=device) / RATE
    echo_s = torch.empty(batch, 1, device=device).uniform_(0.1, 0.7)
    tail = torch.randn(batch, taps, device=device) * 10 ** (-3 * times / echo_s) * (times > 0.003)
    tail = torch.nn.functional.avg_pool1d(tail[:, None], 3, 1, 1)[:, 0]  # walls swallow the treble
    ratio_db = torch.empty(batch, 1, device=device).uniform_(-2, 14)
    tail *= 10 ** (-ratio_db / 20) / tail.square().sum(1, keepdim=True).sqrt()
    tail *= torch.rand(batch, 1, device=device) < 0.65
    tail[:, 0] += 1
    return torch.fft.rfft(tail, _FFT)


def _bands(batch: int, device: torch.device, narrow: float) -> Tensor:
    """Gains over frequency: a microphone's gentle tilt and humps, now and then a narrow band."""
    hz = torch.linspace(0, RATE / 2, _FFT // 2 + 1, device=device)
    octaves = (hz.clamp_min(50) / 1000).log2()
    tilt = torch.empty(batch, 1, device=device).uniform_(-3, 3) * octaves
    for _ in range(2):
        centre = torch.empty(batch, 1, device=device).uniform_(-3, 3)
        tilt = tilt + torch.empty(batch, 1, device=device).uniform_(-6, 6) * torch.exp(
            -((octaves - centre) ** 2)
        )
    low = torch.empty(batch, 1, device=device).uniform_(100, 350)
    high = torch.empty(batch, 1, device=device).uniform_(3000, 6000)
    cut = 1 / torch.sqrt((1 + (low / hz.clamp_min(1)) ** 12) * (1 + (hz / high) ** 12))
    is_narrow = torch.rand(batch, 1, device=device) < narrow
    return 10 ** (tilt / 20) * torch.where(is_narrow, cut, 1.0)


def _dulled(waves: Tensor, share: float) -> Tensor:
    """Some rows as statistical voices speak: what changes in time is blurred, formants are flat.

    Only the envelope of the short-time spectrum is touched, not what excites it. Such voices speak
    the mean of what was recorded: Toda and Tokuda, "A speech parameter generation algorithm
    considering global variance", IEICE Trans. 2007.
    """
    rows = (torch.rand(len(waves), device=waves.device) < share).nonzero()[:, 0]
    if not len(rows):
        return waves
    window = torch.hann_window(512, device=waves.device)
    spectrum = torch.stft(waves[rows], 512, 128, window=window, return_complex=True)
    level = torch.nn.functional.avg_pool1d(  # over 280 Hz: envelope, not harmonics
        spectrum.abs().square().transpose(1, 2), 9, 1, 4, count_include_pad=False
    ).transpose(1, 2)
    envelope = level.clamp_min(1e-7 * level.amax((1, 2), keepdim=True) + 1e-12).log() / 2
    flat = torch.nn.functional.avg_pool1d(
        envelope.transpose(1, 2), 33, 1, 16, count_include_pad=False
    ).transpose(1, 2)
    dull = envelope + torch.rand(len(rows), 1, 1, device=waves.device) * 0.6 * (flat - envelope)
    for row in range(len(rows)):
        frames = 2 * int(torch.randint(0, 5, ())) + 1  # to 9 frames of 8 ms
        dull[row] = torch.nn.functional.avg_pool1d(
            dull[row], frames, 1, frames // 2, count_include_pad=False
        )
    spectrum = spectrum * (dull - envelope).clamp(-2.3, 2.3).exp()
    out = waves.clone()
    out[rows] = torch.istft(spectrum, 512, 128, window=window, length=SAMPLES)
    return out


def _telephoned(waves: Tensor, share: float) -> Tensor:
    """Some rows through a telephone: 300 to 3400 Hz and a coarse code."""
    rows = (torch.rand(len(waves), device=waves.device) < share).nonzero()[:, 0]
    if not len(rows):
        return waves
    hz = torch.linspace(0, RATE / 2, _FFT // 2 + 1, device=waves.device)
    band = 1 / torch.sqrt((1 + (300 / hz.clamp_min(1)) ** 16) * (1 + (hz / 3400) ** 16))
    sent = _filtered(waves[rows], band)
    peak = sent.abs().amax(1, keepdim=True).clamp_min(1e-6)
    mu = 255.0
    code = torch.sign(sent) * torch.log1p(mu * (sent / peak).abs()) / math.log1p(mu)
    steps = 2 ** torch.randint(4, 8, (len(rows), 1), device=waves.device).float()
    code = (code * steps).round() / steps
    back = torch.sign(code) * (torch.expm1(code.abs() * math.log1p(mu)) / mu) * peak
    out = waves.clone()
    out[rows] = _filtered(back, band)
    return out


def _shaped(batch: int, device: torch.device, gains: Tensor) -> Tensor:
    spectrum = torch.randn(batch, _FFT // 2 + 1, dtype=torch.complex64, device=device) * gains
    return _unit(torch.fft.irfft(spectrum, _FFT)[:, :SAMPLES])


def _slow(batch: int, device: torch.device, hz: float) -> Tensor:
    """Random curves of unit variance that change no faster than `hz`."""
    points = max(4, round(SAMPLES / RATE * hz * 2))
    curve = torch.randn(batch, 1, points, device=device)
    return torch.nn.functional.interpolate(curve, SAMPLES, mode="linear", align_corners=True)[:, 0]


def _broadband(batch: int, device: torch.device) -> Tensor:
    hz = torch.linspace(0, RATE / 2, _FFT // 2 + 1, device=device)
    corner = torch.empty(batch, 1, device=device).uniform_(80, 3000)
    slope = torch.empty(batch, 1, device=device).uniform_(0.3, 1.5)
    gusts = 1 + 0.4 * torch.rand(batch, 1, device=device) * _slow(batch, device, 1.0)
    return _unit(_shaped(batch, device, (1 + (hz / corner) ** 2) ** (-slope / 2)) * gusts)


def _wind(batch: int, device: torch.device) -> Tensor:
    hz = torch.linspace(0, RATE / 2, _FFT // 2 + 1, device=device)
    corner = torch.empty(batch, 1, device=device).uniform_(80, 350)
    gusts = torch.exp(
        torch.empty(batch, 1, device=device).uniform_(0.4, 1.2) * _slow(batch, device, 0.6)
    )
    hiss = 0.08 * torch.rand(batch, 1, device=device)
    rumble = _shaped(batch, device, 1 / (1 + (hz / corner) ** 2))
    return _unit((rumble + hiss * torch.randn(batch, SAMPLES, device=device)) * gusts)


def _turning(batch: int, device: torch.device, low: float, high: float, partials: int) -> Tensor:
    """Harmonics of a wandering pitch, in hertz."""
    base = torch.empty(batch, 1, device=device).uniform_(low, high)
    pitch = base * (1 + 0.05 * _slow(batch, device, 0.5) + 0.02 * _slow(batch, device, 12.0))
    phase = 2 * math.pi * torch.cumsum(pitch.double() / RATE, 1).remainder(1.0).float()
    fall = torch.empty(batch, 1, device=device).uniform_(0.4, 1.2)
    shift = torch.rand(partials, device=device) * 6.28
    wave = torch.zeros(batch, SAMPLES, device=device)
    for k in range(1, partials + 1):
        wave += torch.sin(k * phase + shift[k - 1]) / k**fall
    return _unit(wave)


def _engine(batch: int, device: torch.device) -> Tensor:
    firing = _turning(batch, device, 12, 60, 40)
    clatter = torch.randn(batch, SAMPLES, device=device) * firing.clamp_min(0) ** 2
    loping = 1 + 0.3 * torch.rand(batch, 1, device=device) * _slow(batch, device, 8.0)
    return _unit(
        firing * loping + torch.empty(batch, 1, device=device).uniform_(0, 0.4) * _unit(clatter)
    )


def _shop(batch: int, device: torch.device) -> Tensor:
    """Hum that comes and goes, broadband, bursts of compressed air, clanks."""
    hum = _turning(batch, device, 25, 130, 12) * (0.2 + (_slow(batch, device, 0.1) > 0))
    air = torch.randn(batch, SAMPLES, device=device) * (_slow(batch, device, 0.4) > 1.2)
    air = air - torch.roll(air, 1, 1)  # bright
    air *= 1 + 0.8 * torch.sign(_turning(batch, device, 20, 60, 1))
    clanks = torch.zeros(batch, SAMPLES + 8000, device=device)
    times = torch.arange(8000, device=device) / RATE
    for _ in range(12):
        hz = torch.empty(batch, 5, 1, device=device).uniform_(400, 5500)
        ring = (torch.sin(2 * math.pi * hz * times)).sum(1) * torch.exp(
            -times * torch.empty(batch, 1, device=device).uniform_(10, 50)
        )
        start = torch.randint(0, SAMPLES, (batch, 1), device=device)
        clanks.scatter_add_(
            1, start + torch.arange(8000, device=device), ring * torch.rand(batch, 1, device=device)
        )
    parts = [hum, _broadband(batch, device), _unit(air), 0.7 * _unit(clanks[:, :SAMPLES])]
    mix = torch.rand(len(parts), batch, 1, device=device)
    return _unit((torch.stack(parts) * mix).sum(0))


def mel_filters() -> np.ndarray:
    """Slaney's mel filters, 80 by 201, as the recogniser's library builds them.

    Source: the formula of `librosa.filters.mel` (htk off, Slaney norm), which Whisper uses.
    """
    edges = np.linspace(0, _to_mel(RATE / 2), 82)
    hz = _to_hz(edges)
    ramps = hz[:, None] - np.linspace(0, RATE / 2, 201)[None]
    width = np.diff(hz)
    lower, upper = -ramps[:-2] / width[:-1, None], ramps[2:] / width[1:, None]
    weights = np.maximum(0, np.minimum(lower, upper))
    return (weights * (2 / (hz[2:] - hz[:-2]))[:, None]).astype(np.float32)


def _to_mel(hz: float) -> float:
    return hz / (200 / 3) if hz < 1000 else 15 + math.log(hz / 1000) / (math.log(6.4) / 27)


def _to_hz(mel: np.ndarray) -> np.ndarray:
    return np.where(mel < 15, mel * 200 / 3, 1000 * np.exp((mel - 15) * math.log(6.4) / 27))
