import io
import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from pipeline.errors import PublishError
from pipeline.publish.stills import AFTER_S, ALTERNATIVES, BEFORE_S, focus, take_stills
from pipeline.score.truth import read_truth
from pipeline.times import Interval
from tests.publish.conftest import write_video

SAMPLES = Path(__file__).parents[2] / "samples"

# A quarter turn clockwise, as a phone held upright writes it (ISO/IEC 14496-12, track header).
QUARTER_TURN = np.array([0, 1 << 16, 0, -(1 << 16), 0, 0, 0, 0, 1 << 30], ">i4").tobytes()
MATRIX_AT = 44  # bytes from the "tkhd" mark of a version 0 track header to its matrix


def phrase(start_s: float, end_s: float) -> Interval:
    return Interval(start_s=start_s, end_s=end_s)


def picture(jpeg: bytes) -> Image.Image:
    return Image.open(io.BytesIO(jpeg))


def test_the_sharp_frame_nearest_to_the_words_is_taken(video: Path) -> None:
    found = take_stills(video, {"a": phrase(20.2, 21.0), "b": phrase(5.1, 5.2)})
    assert found["a"][0].time_s == 20.5
    assert found["b"][0].time_s in {4.5, 5.5}


def test_alternatives_come_from_other_moments_of_the_window(video: Path) -> None:
    stills = take_stills(video, {"a": phrase(20.0, 21.0)})["a"]
    times = [still.time_s for still in stills]
    assert len(stills) == 1 + ALTERNATIVES
    assert len(set(times)) == len(times)
    assert all(20.0 - BEFORE_S <= time_s <= 21.0 + AFTER_S for time_s in times)
    assert [still.focus for still in stills] == sorted((s.focus for s in stills), reverse=True)


def test_windows_may_overlap_and_come_in_any_order(video: Path) -> None:
    phrases = {str(n): phrase(s, s + 1.0) for n, s in enumerate([30.2, 30.0, 3.0, 59.0, 0.0])}
    together = take_stills(video, phrases)
    alone = {name: take_stills(video, {name: span})[name] for name, span in phrases.items()}
    assert together == alone


@pytest.mark.parametrize("span", [phrase(70.0, 71.0), phrase(59.9, 80.0)])
def test_the_last_frame_stays_on_the_screen(video: Path, span: Interval) -> None:
    assert take_stills(video, {"a": span})["a"][0].time_s > 56.0


def test_a_frame_that_is_still_shown_counts(tmp_path: Path) -> None:
    slow = tmp_path / "slow.mp4"
    write_video(slow, seconds=40, rate=1)
    stills = take_stills(slow, {"a": phrase(10.9, 10.95)})["a"]
    assert 10.0 in [still.time_s for still in stills]


def test_a_phones_turn_is_respected(tmp_path: Path, video: Path) -> None:
    turned = tmp_path / "turned.mp4"
    content = bytearray(video.read_bytes())
    at = content.index(b"tkhd") + MATRIX_AT
    content[at : at + len(QUARTER_TURN)] = QUARTER_TURN
    turned.write_bytes(content)
    span = {"a": phrase(7.2, 7.8)}
    upright = picture(take_stills(turned, span)["a"][0].jpeg)
    stored = picture(take_stills(video, span)["a"][0].jpeg)
    assert upright.size == (108, 192)
    bright = np.asarray(stored.crop((4, 4, 16, 16))).mean()
    assert np.asarray(upright.crop((92, 4, 104, 16))).mean() == pytest.approx(bright, abs=3)
    assert bright > 200


def test_pictures_are_no_larger_than_promised(tmp_path: Path) -> None:
    large = tmp_path / "large.mp4"
    write_video(large, seconds=1, rate=2, scale=15)
    still = take_stills(large, {"a": phrase(0.0, 1.0)})["a"][0]
    assert picture(still.jpeg).size == (1280, 720)
    assert picture(still.thumbnail).size == (320, 180)


def test_progress_never_falls_and_no_phrase_reads_nothing(video: Path, tmp_path: Path) -> None:
    shares: list[float] = []
    take_stills(video, {"a": phrase(2.0, 3.0)}, shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert take_stills(tmp_path / "nowhere.mp4", {}) == {}


def test_what_is_no_video_is_refused(tmp_path: Path) -> None:
    (tmp_path / "notes.mp4").write_text("not a video")
    with pytest.raises(PublishError, match="cannot be read"):
        take_stills(tmp_path / "notes.mp4", {"a": phrase(0, 1)})


def test_a_file_that_names_others_is_not_followed(tmp_path: Path) -> None:
    playlist = tmp_path / "walk.m3u8"
    playlist.write_text("#EXTM3U\n#EXTINF:10,\nhttp://127.0.0.1:9/x.ts\n#EXT-X-ENDLIST\n")
    with pytest.raises(PublishError, match="gives no stills"):
        take_stills(playlist, {"a": phrase(0, 1)})


@pytest.mark.parametrize("axis", [0, 1])
def test_a_smear_along_either_axis_lowers_the_focus(axis: int) -> None:
    noise = np.random.default_rng(1).uniform(0, 255, (60, 80)).astype(np.float32)
    smeared = np.apply_along_axis(np.convolve, axis, noise, np.ones(5) / 5, "same")
    assert focus(smeared.astype(np.float32)) < 0.5 * focus(noise)
    assert focus(np.full((60, 80), 7, np.float32)) == 0.0


@pytest.mark.parametrize("name", ["pellam", "brackwater"])
def test_the_samples_stills_show_the_part_that_is_spoken_of(name: str) -> None:
    truth = read_truth(SAMPLES / f"{name}.json")
    films = json.loads((SAMPLES / f"{name}.shown.json").read_text())
    spoken = {
        f"{number}.{place}": found
        for number, say in enumerate(truth.say)
        for place, found in enumerate(say.findings)
    }
    phrases = {key: phrase(f.start_s or 0.0, f.end_s or 0.0) for key, f in spoken.items()}
    stills = take_stills(SAMPLES / f"{name}.mp4", phrases)
    for key, found in spoken.items():
        best = stills[key][0]
        place = [found.part, found.position, found.side]
        film = next(
            film
            for film in films
            if [film["part"], film["position"], film["side"]] == place
            and film["start_s"] <= best.time_s <= film["end_s"]
        )
        x, y = film["spot"]
        pixels = np.asarray(picture(best.jpeg).crop((x - 1, y - 1, x + 2, y + 2)), float)
        assert np.abs(pixels.mean((0, 1)) - film["colour"]).max() < 60, place
