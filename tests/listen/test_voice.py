"""Windows of voiced stretches and the way back; voice detection in stretches."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.listen import voice
from pipeline.listen.voice import WINDOW_S, Window, find_voice, windows
from pipeline.models import Audio
from pipeline.times import Interval
from tests.listen.conftest import PHRASES


def span(start_s: float, end_s: float) -> Interval:
    return Interval(start_s=start_s, end_s=end_s)


TWO_PIECES = Window((span(10.0, 12.0), span(20.0, 23.0)))


@pytest.mark.parametrize(
    ("start_s", "end_s", "wanted"),
    [
        (0.5, 1.0, span(10.5, 11.0)),
        (2.5, 3.0, span(20.5, 21.0)),
        (1.2, 2.2, span(11.2, 12.0)),  # reaches over the pause: cut to the piece of its middle
        (1.4, 2.4, span(20.0, 20.4)),  # begun where the last word ended, spoken after the pause
        (1.9, 2.8, span(20.0, 20.8)),
        (4.9, 5.5, span(22.9, 23.0)),
        (5.2, 5.5, span(23.0, 23.0)),  # past the end
    ],
)
def test_times_are_carried_back_to_the_media(
    start_s: float, end_s: float, wanted: Interval
) -> None:
    found = TWO_PIECES.on_media(start_s, end_s)

    assert found.start_s == pytest.approx(wanted.start_s)
    assert found.end_s == pytest.approx(wanted.end_s)


def test_a_window_joins_its_pieces() -> None:
    audio = Audio(np.arange(240, dtype=np.float32), 10)

    samples = TWO_PIECES.samples(audio)

    assert samples.tolist() == [*range(100, 120), *range(200, 230)]
    assert TWO_PIECES.duration_s == 5.0
    assert TWO_PIECES.interval == span(10.0, 23.0)


lengths = st.floats(min_value=0.1, max_value=28.0)
pauses = st.floats(min_value=0.0, max_value=40.0)


@given(st.lists(st.tuples(pauses, lengths), max_size=30), pauses)
def test_windows_hold_all_voice_once_and_fit(
    talk: list[tuple[float, float]], rest_s: float
) -> None:
    voiced, at_s = [], 0.0
    for pause_s, length_s in talk:
        voiced.append(span(at_s + pause_s, at_s + pause_s + length_s))
        at_s = voiced[-1].end_s

    packed = list(windows(voiced, at_s + rest_s))

    pieces = [piece for window in packed for piece in window.pieces]
    assert len(pieces) == len(voiced)
    assert all(window.duration_s <= WINDOW_S + 1e-6 for window in packed)
    for piece, stretch in zip(pieces, voiced, strict=True):
        assert 0 <= piece.start_s <= stretch.start_s
        assert stretch.end_s <= piece.end_s <= at_s + rest_s + 1e-9
    assert all(after.start_s >= before.end_s - 1e-9 for before, after in pairwise(pieces))


def test_voice_is_found_where_phrases_are(phrases: Audio) -> None:
    voiced = find_voice(phrases)

    for start_s, end_s, _ in PHRASES:
        heard_s = sum(stretch.overlap_s(span(start_s, end_s)) for stretch in voiced)
        assert heard_s > 0.8 * (end_s - start_s)
    assert all(
        any(stretch.overlap_s(span(start, end)) for start, end, _ in PHRASES) for stretch in voiced
    )


def test_long_recordings_go_through_in_stretches(
    phrases: Audio, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = find_voice(phrases)
    monkeypatch.setattr(voice, "_STRETCH_S", 9)  # ends within the second phrase

    found = find_voice(phrases)

    assert len(found) == len(whole)
    for one, other in zip(found, whole, strict=True):
        assert one.start_s == pytest.approx(other.start_s, abs=0.1)
        assert one.end_s == pytest.approx(other.end_s, abs=0.1)


def test_noise_has_no_voice() -> None:
    noise = np.random.default_rng(1).standard_normal(16_000 * 10).astype(np.float32)

    assert find_voice(Audio(0.05 * noise, 16_000)) == []
    assert find_voice(Audio(0 * noise, 16_000)) == []
    assert find_voice(Audio(noise[:0], 16_000)) == []
