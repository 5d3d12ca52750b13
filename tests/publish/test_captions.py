from collections.abc import Callable
from io import StringIO
from itertools import pairwise

import pytest
import webvtt

from pipeline.models import Line, Record
from pipeline.publish.captions import Chapter, captions, chapter_text, chapters, chapters_vtt
from pipeline.publish.handover import Handover
from tests.publish.conftest import DURATION_S, finding

HandoverOf = Callable[..., Handover]


def parsed(text: str) -> webvtt.WebVTT:
    return webvtt.from_buffer(StringIO(text))


def test_captions_hold_every_line_and_nothing_that_acts(record: Record) -> None:
    text = captions(record.lines)
    cues = parsed(text).captions
    assert text.startswith("WEBVTT\n\n")
    assert len(cues) == len(record.lines)
    assert text.count("-->") == len(cues)
    assert "<" not in text
    assert "\x1b" not in text
    assert "\u202e" not in text
    assert all(cue.start < cue.end for cue in cues)
    assert [cue.start for cue in cues] == sorted(cue.start for cue in cues)


@pytest.mark.parametrize(
    ("status", "caption"),
    [("heard", "thanks"), ("doubtful", "[unsure] thanks"), ("unheard", "[not made out]")],
)
def test_captions_say_what_was_not_heard(status: str, caption: str) -> None:
    line = Line.model_validate(
        {"id": "L1", "start_s": 1, "end_s": 2, "text": "thanks", "status": status}
    )
    assert parsed(captions([line])).captions[0].text == caption


def test_no_lines_still_make_a_file() -> None:
    assert captions([]).strip() == "WEBVTT"


def test_chapters_fill_the_recording(record: Record, handover_of: HandoverOf) -> None:
    found = chapters(handover_of(record))
    cues = parsed(chapters_vtt(found, DURATION_S)).captions
    assert cues[0].start == "00:00:00.000"
    assert cues[-1].end == "00:01:00.000"
    assert all(a.end == b.start for a, b in pairwise(cues))


def test_chapters_are_ten_seconds_apart_and_name_their_flaws(
    record: Record, handover_of: HandoverOf
) -> None:
    record.findings = [
        finding(id="A", start_s=13.0, end_s=14.0),
        finding(id="B", start_s=15.0, end_s=16.0, part="seat", defect="tear"),
        finding(id="C", start_s=40.0, end_s=41.0, part="mirror", side="left"),
        finding(id="D", start_s=58.0, end_s=59.0, part="fork", side="left", defect="rust"),
    ]
    assert chapters(handover_of(record)) == [
        Chapter(0.0, "Walkaround begins"),
        Chapter(11.0, "Saddlebag: scratch; Seat: tear"),
        Chapter(38.0, "Left mirror: scratch; Left fork: rust"),
    ]


def test_a_long_title_is_cut_with_a_count(record: Record, handover_of: HandoverOf) -> None:
    parts = ["saddlebag", "fuel_tank", "windshield", "passenger_seat", "headlight", "exhaust"]
    record.findings = [finding(id=f"F{i}", part=part) for i, part in enumerate(parts)]
    title = chapters(handover_of(record))[0].title
    assert title.endswith("; 2 more")
    assert len(title) < 110


@pytest.mark.published
def test_chapter_text_follows_the_common_rules() -> None:
    # One chapter a line, `m:ss title`, the first at 0:00; three or more, or none.
    found = [Chapter(0.0, "a"), Chapter(83.4, "b"), Chapter(3725.0, "c")]
    assert chapter_text(found) == "0:00 a\n1:23 b\n1:02:05 c\n"
    assert chapter_text(found[:2]) == ""


@pytest.mark.published
def test_chapter_cues_are_those_of_the_specification() -> None:
    # WebVTT's own chapter example: starts 0, 10.7, 47.6, 110.1; ends 10.7, 47.6, 110.1, 213.
    found = [Chapter(start_s, "t") for start_s in (0, 10.7, 47.6, 110.1)]
    cues = parsed(chapters_vtt(found, 213.0)).captions
    assert [(cue.start, cue.end) for cue in cues] == [
        ("00:00:00.000", "00:00:10.700"),
        ("00:00:10.700", "00:00:47.600"),
        ("00:00:47.600", "00:01:50.100"),
        ("00:01:50.100", "00:03:33.000"),
    ]
