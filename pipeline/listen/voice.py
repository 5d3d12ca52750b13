"""Where a voice is heard, and the windows that the recogniser is given.

A window holds voiced stretches only, joined with a little of the silence around them, so that long
pauses neither cost time nor invite invented words. It knows the way back to the media's clock.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import chain, pairwise

import numpy as np
from numpy.typing import NDArray

from pipeline.models import Audio
from pipeline.times import Interval

WINDOW_S = 30.0  # what the recogniser's encoder takes at once

# Lower than the detector's usual 0.5: speech over an engine or wind must not be lost.
_THRESHOLD = 0.4
_PAUSE_MS = 160
_LONGEST_S = 28  # a stretch without any pause is cut here, to fit a window with its padding
PAD_S = 0.4  # quiet beginnings and ends of words lie outside what the detector marks
_STRETCH_S = 120  # the detector needs a megabyte a second; recordings go through it in stretches
_REACH_S = 0.25  # a word that ends this far into a piece is spoken there


@dataclass(frozen=True)
class Window:
    """Pieces of the recording that are decoded as if they followed one another."""

    pieces: tuple[Interval, ...]

    @property
    def duration_s(self) -> float:
        """Length of the joined pieces in seconds."""
        return sum(piece.duration_s for piece in self.pieces)

    @property
    def interval(self) -> Interval:
        """From the first piece's start to the last one's end, on the media's clock."""
        return Interval(start_s=self.pieces[0].start_s, end_s=self.pieces[-1].end_s)

    def samples(self, audio: Audio) -> NDArray[np.float32]:
        """The joined pieces' sound."""
        return np.concatenate(
            [
                audio.samples[round(p.start_s * audio.rate) : round(p.end_s * audio.rate)]
                for p in self.pieces
            ]
        )

    def on_media(self, start_s: float, end_s: float) -> Interval:
        """A word's time in the joined sound, carried back to the media's clock.

        It is cut to one piece, for no word reaches over a pause that was taken out. The recogniser
        likes to begin the first word after a pause where the last one ended: a word that reaches
        well into a piece belongs there, else to the piece that holds its middle.
        """
        mark_s, before_s = max((start_s + end_s) / 2, end_s - _REACH_S), 0.0
        for piece in self.pieces:
            if mark_s < before_s + piece.duration_s or piece is self.pieces[-1]:
                break
            before_s += piece.duration_s
        shift_s = piece.start_s - before_s
        start_s = min(max(start_s + shift_s, piece.start_s), piece.end_s)
        return Interval(start_s=start_s, end_s=max(min(end_s + shift_s, piece.end_s), start_s))


def find_voice(audio: Audio) -> list[Interval]:
    """Stretches in which a voice is heard, without padding, in time order."""
    return list(voice_as_found(audio))


def voice_as_found(audio: Audio) -> Iterator[Interval]:
    """As `find_voice`, one after the other: the first ones can be heard while more are found."""
    # A partial set of options would silently bring back pauses of 2,000 ms: all are given.
    from faster_whisper.vad import (  # noqa: PLC0415 (start-up stays light)
        VadOptions,
        get_speech_timestamps,
    )

    options = VadOptions(
        threshold=_THRESHOLD,
        neg_threshold=_THRESHOLD - 0.15,
        min_speech_duration_ms=0,
        max_speech_duration_s=_LONGEST_S,
        min_silence_duration_ms=_PAUSE_MS,
        speech_pad_ms=0,
    )
    start, size = 0, _STRETCH_S * audio.rate
    while start < len(audio.samples):
        stretch = audio.samples[start : start + size]
        found = [
            Interval(
                start_s=(start + spot["start"]) / audio.rate,
                end_s=(start + spot["end"]) / audio.rate,
            )
            for spot in get_speech_timestamps(stretch, options, sampling_rate=audio.rate)
        ]
        start += size
        if start < len(audio.samples) and len(found) > 1:
            # The last one may go on in the next stretch, which therefore begins at its start.
            start = round(found.pop().start_s * audio.rate)
        yield from found


def windows(voiced: Iterable[Interval], duration_s: float) -> Iterator[Window]:
    """Packs voiced stretches, padded by up to 0.4 s each side, into windows of up to 30 s."""
    pieces: list[Interval] = []
    held_s = 0.0
    for piece in _padded(voiced, duration_s):
        if pieces and held_s + piece.duration_s > WINDOW_S:
            yield Window(tuple(pieces))
            pieces, held_s = [], 0.0
        pieces.append(piece)
        held_s += piece.duration_s
    if pieces:
        yield Window(tuple(pieces))


def _padded(voiced: Iterable[Interval], duration_s: float) -> Iterator[Interval]:
    """Each stretch with padding, but never past the middle of a pause, so that none overlap."""
    before_s: float | None = None
    for stretch, after in pairwise(chain(voiced, [None])):
        assert stretch is not None
        before_s = -stretch.start_s if before_s is None else before_s
        after_s = 2 * duration_s if after is None else after.start_s
        yield Interval(
            start_s=max(0.0, stretch.start_s - PAD_S, (before_s + stretch.start_s) / 2),
            end_s=min(duration_s, stretch.end_s + PAD_S, (stretch.end_s + after_s) / 2),
        )
        before_s = stretch.end_s
