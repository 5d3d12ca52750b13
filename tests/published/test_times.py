"""Times and intervals against the standards' own examples and against independent parsers.

SMPTE time codes are not used anywhere in Wearword: nothing of ST 12 is checked here.
"""

import io
import re
from datetime import timedelta
from pathlib import Path

import pytest
import srt
import webvtt
from hypothesis import given
from hypothesis import strategies as st

from pipeline.errors import WearwordError
from pipeline.listen.captions import read_captions
from pipeline.models import Line
from pipeline.publish.captions import Chapter, captions, chapter_text, chapters_vtt
from pipeline.publish.linked_data import iso_duration
from pipeline.publish.links import Linker, media_fragment
from pipeline.times import Interval, clock, parse_clock, webvtt_time

milliseconds = st.integers(0, 100 * 3_600_000)
# Text that a caption can hold: no line ends, no control characters, not blank.
texts = st.text(st.characters(categories=("L", "N", "P", "S")), min_size=1, max_size=30)


# --- WebVTT -------------------------------------------------------------------------------------

SPEC_TIMESTAMPS = [  # W3C WebVTT, "collect a WebVTT timestamp" and the spec's examples
    ("00:11.000", 11.0), ("04:02.500", 242.5), ("00:01:50.100", 110.1), ("59:59.999", 3599.999),
    ("01:02:03.004", 3723.004), ("100:00:00.000", 360000.0),
]  # fmt: skip
SPEC_NO_TIMESTAMPS = [
    "60:00.000", "00:60.000", "00:61:00.000", "00:00,500", "1:00.0000", "-00:01.000", "00:00.5s",
]  # fmt: skip


@pytest.mark.published("W3C WebVTT, editor's draft of 14 May 2026: timestamps of its examples")
@pytest.mark.parametrize(("text", "seconds"), SPEC_TIMESTAMPS)
def test_webvtt_timestamps_are_read(text: str, seconds: float, tmp_path: Path) -> None:
    assert parse_clock(text) == pytest.approx(seconds, abs=1e-9)
    path = tmp_path / "one.vtt"
    path.write_text(f"WEBVTT\n\n{text} --> 101:00:00.000\nDent in the tank.\n")
    assert read_captions(path).lines[0].start_s == pytest.approx(seconds, abs=1e-9)


@pytest.mark.published("W3C WebVTT: what its parser rejects is an error here, never a lost cue")
@pytest.mark.parametrize("text", SPEC_NO_TIMESTAMPS)
def test_other_timestamps_are_refused(text: str, tmp_path: Path) -> None:
    with pytest.raises(WearwordError):
        parse_clock(text)
    path = tmp_path / "one.vtt"
    path.write_text(f"WEBVTT\n\n{text} --> 101:00:00.000\nDent in the tank.\n")
    with pytest.raises(WearwordError, match="line 3"):
        read_captions(path)


@pytest.mark.published("W3C WebVTT, grammar of a timestamp; read back by ours and by webvtt-py")
@given(milliseconds)
def test_webvtt_timestamps_we_write(ms: int) -> None:
    written = webvtt_time(ms / 1000)
    assert re.fullmatch(r"\d{2,}:[0-5]\d:[0-5]\d\.\d{3}", written)
    assert round(parse_clock(written) * 1000) == ms
    read = webvtt.from_string(f"WEBVTT\n\n{written} --> {webvtt_time(ms / 1000 + 1)}\nx\n")
    (cue,) = read.captions
    assert round(cue.start_in_seconds) in (ms // 1000, round(ms / 1000))


@pytest.mark.published("W3C WebVTT: cues we write, read by webvtt-py, an independent parser")
@given(st.lists(st.tuples(st.integers(0, 10_000_000), st.integers(0, 20_000), texts), max_size=8))
def test_captions_are_read_by_another(rows: list[tuple[int, int, str]]) -> None:
    lines = [
        Line(id=f"L{n}", start_s=at / 1000, end_s=(at + length) / 1000, text=text)
        for n, (at, length, text) in enumerate(sorted(rows))
    ]
    written = captions(lines)
    assert written.startswith("WEBVTT\n")
    cues = webvtt.from_buffer(io.StringIO(written)).captions
    assert len(cues) == len(lines)
    assert written.count("-->") == len(lines)  # none inside a payload
    starts = [cue.start for cue in cues]
    assert starts == [webvtt_time(line.start_s) for line in lines]
    assert all(parse_clock(cue.end) > parse_clock(cue.start) for cue in cues)


@pytest.mark.published("W3C WebVTT, chapter example: starts 0, 10.7, 47.6, 110.1; ends at 213.0 s")
def test_the_spec_s_chapters() -> None:
    starts = [0.0, 10.7, 47.6, 110.1]
    cues = webvtt.from_string(
        chapters_vtt([Chapter(at, f"Chapter {n}") for n, at in enumerate(starts)], 213.0)
    ).captions
    assert [parse_clock(cue.start) for cue in cues] == starts
    assert [parse_clock(cue.end) for cue in cues] == [10.7, 47.6, 110.1, 213.0]


# --- SubRip -------------------------------------------------------------------------------------


@pytest.mark.published("SubRip as subtitle editors write it: 00:02:26,407 is 146.407 s")
def test_subrip_example(tmp_path: Path) -> None:
    path = tmp_path / "one.srt"
    path.write_text("1\n00:02:26,407 --> 00:02:31,356\nDent in the tank.\n")
    (line,) = read_captions(path).lines
    assert (line.start_s, line.end_s) == (146.407, 151.356)


@pytest.mark.published("SubRip files composed by the srt library, read by ourselves")
@given(st.lists(st.tuples(milliseconds, st.integers(1, 20_000)), min_size=1, max_size=8))
def test_subrip_of_another_writer(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[int, int]]
) -> None:
    cues = [
        srt.Subtitle(n, timedelta(milliseconds=at), timedelta(milliseconds=at + ms), f"Dent {n}")
        for n, (at, ms) in enumerate(sorted(rows), 1)
    ]
    path = tmp_path_factory.mktemp("srt") / "one.srt"
    path.write_text(srt.compose(cues, reindex=False))
    lines = read_captions(path).lines
    assert [round(line.start_s * 1000) for line in lines] == [at for at, _ in sorted(rows)]
    assert [line.text for line in lines] == [cue.content for cue in cues]


# --- Media Fragments ----------------------------------------------------------------------------

_NPT = re.compile(r"t=(\d+(?:\.\d*)?)(?:,(\d+(?:\.\d*)?))?")


def played(fragment: str) -> tuple[float, float | None]:
    """What a player of Media Fragments URI 1.0 plays of a npt fragment in seconds (4.2.1)."""
    found = _NPT.fullmatch(fragment)
    assert found, f"{fragment} is no valid fragment"
    start, end = float(found[1]), float(found[2]) if found[2] else None
    assert end is None or end > start, f"{fragment} is invalid: it ends before it starts"
    return start, end


@pytest.mark.published(
    "Media Fragments URI 1.0, W3C test suite: t=3,7 and t=3 are valid, t=3,3 is not"
)
@pytest.mark.parametrize(
    ("start_s", "end_s", "fragment"),
    [(3, 7, "t=3,7"), (3, 3, "t=3"), (10, 20, "t=10,20"), (83.4, 91.25, "t=83.4,91.25"),
     (0, 9.97, "t=0,9.97")],
)  # fmt: skip
def test_media_fragments_of_the_recommendation(start_s: float, end_s: float, fragment: str) -> None:
    assert media_fragment(Interval(start_s=start_s, end_s=end_s)) == fragment


@pytest.mark.published("Media Fragments URI 1.0: whatever is spoken when, the fragment is valid")
@given(milliseconds, st.integers(0, 60_000), st.floats(0, 30), st.floats(0, 400_000))
def test_media_fragments_are_valid(
    start_ms: int, length_ms: int, lead_in_s: float, duration_s: float
) -> None:
    phrase = Interval(start_s=start_ms / 1000, end_s=(start_ms + length_ms) / 1000)
    link = Linker("https://shop.example/v.mp4", None, lead_in_s, duration_s).url(phrase)
    assert link is not None
    address, _, fragment = link.partition("#")
    start, end = played(fragment)
    assert address == "https://shop.example/v.mp4"
    assert start <= phrase.start_s + 0.0005
    assert end is None or not duration_s or end <= max(duration_s, 0.0) + 0.0005


# --- durations and chapter text -----------------------------------------------------------------

_RFC_3339_DURATION = re.compile(r"PT(\d+H(\d+M(\d+S)?)?|\d+M(\d+S)?|\d+S)")


@pytest.mark.published("ISO 8601 by the grammar of RFC 3339 App. A: PT50S, PT6H, PT4M13S, PT1H0M5S")
@pytest.mark.parametrize(
    ("seconds", "text"),
    [(50, "PT50S"), (660, "PT11M"), (21600, "PT6H"), (253, "PT4M13S"), (600, "PT10M"),
     (3605, "PT1H0M5S")],
)  # fmt: skip
def test_durations(seconds: float, text: str) -> None:
    assert iso_duration(seconds) == text


@pytest.mark.published("ISO 8601 / RFC 3339 App. A: no unit skipped, read back by a plain reader")
@given(st.floats(0, 1_000_000))
def test_any_duration_is_in_the_grammar(seconds: float) -> None:
    text = iso_duration(seconds)
    assert _RFC_3339_DURATION.fullmatch(text)
    value = sum(
        int(n) * {"H": 3600, "M": 60, "S": 1}[unit] for n, unit in re.findall(r"(\d+)([HMS])", text)
    )
    assert abs(value - seconds) <= 0.5


@pytest.mark.published(
    "chapter text, de facto: m:ss title a line, from 0:00, ascending, h:mm:ss from one hour"
)
def test_chapter_text() -> None:
    starts = [0.0, 83.4, 599.9, 3600.0, 3725.0]
    lines = chapter_text([Chapter(at, "Title") for at in starts]).splitlines()
    assert lines == [f"{t} Title" for t in ("0:00", "1:23", "9:59", "1:00:00", "1:02:05")]
    assert [clock(at) for at in starts] == [line.split()[0] for line in lines]
