"""The committed samples: unchanged, their truth readable, the part in question in the picture."""

import hashlib
import json
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
import webvtt

from pipeline.score.truth import read_truth

SAMPLES = Path(__file__).resolve().parents[1] / "samples"
NAMES = ["brackwater", "calder", "pellam"]
FILMS = ["brackwater", "pellam"]
COLOUR_TOLERANCE = 24  # of 255; H.264 keeps a flat colour to within some 10


def test_committed_files_are_those_of_the_list() -> None:
    listed = [line.split("  ") for line in (SAMPLES / "digests.txt").read_text().splitlines()]
    assert len(listed) >= 9
    for digest, name in listed:
        assert hashlib.sha256((SAMPLES / name).read_bytes()).hexdigest() == digest, name


@pytest.mark.parametrize("name", NAMES)
def test_truth_with_times_says_what_was_authored(name: str) -> None:
    authored, timed = read_truth(SAMPLES / f"{name}.toml"), read_truth(SAMPLES / f"{name}.json")
    assert timed.text == authored.text
    assert timed.duration_s is not None
    assert 60 <= timed.duration_s <= 150
    assert sum(len(say.findings) for say in timed.say) >= 10
    end_s = 0.0
    for say in timed.say:
        assert say.start_s is not None
        assert say.end_s is not None
        assert end_s <= say.start_s <= say.end_s <= timed.duration_s
        end_s = say.end_s
        for finding in say.findings:
            assert finding.start_s is not None
            assert finding.end_s is not None
            assert say.start_s <= finding.start_s < finding.end_s <= say.end_s


@pytest.mark.parametrize("name", FILMS)
def test_marked_part_is_in_the_frame_while_it_is_spoken_of(name: str) -> None:
    shown = json.loads((SAMPLES / f"{name}.shown.json").read_text())
    findings = [f for say in read_truth(SAMPLES / f"{name}.json").say for f in say.findings]
    for finding in findings:
        assert finding.start_s is not None
        in_frame = [
            stretch["part"]
            for stretch in shown
            if stretch["start_s"] <= finding.start_s + 0.01 <= stretch["end_s"]
        ]
        assert in_frame == [finding.part]
    frames = _frames(SAMPLES / f"{name}.mp4", [stretch["end_s"] for stretch in shown])
    for stretch, frame in zip(shown, frames, strict=True):
        x, y = stretch["spot"]
        assert np.abs(frame[y, x].astype(int) - stretch["colour"]).max() < COLOUR_TOLERANCE


def test_captions_say_what_the_recording_says() -> None:
    captions = webvtt.read(str(SAMPLES / "pellam.vtt")).captions
    assert (
        " ".join(caption.text for caption in captions) == read_truth(SAMPLES / "pellam.json").text
    )


def _frames(path: Path, moments_s: list[float]) -> list[np.ndarray[Any, Any]]:
    """The upright frames shown at each moment, in order."""
    found: list[np.ndarray[Any, Any]] = []
    with av.open(str(path)) as container:
        for frame in container.decode(video=0):
            if len(found) < len(moments_s) and frame.time >= moments_s[len(found)] - 1e-6:
                found.append(np.rot90(frame.to_ndarray(format="rgb24"), frame.rotation // 90))
    return found
