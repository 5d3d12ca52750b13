"""Caption files in, lines out; and what is said of files that cannot be read."""

import json
from datetime import timedelta
from pathlib import Path

import pytest
import srt
from hypothesis import given
from hypothesis import strategies as st

from pipeline.errors import TranscriptError
from pipeline.listen.captions import read_captions
from pipeline.times import webvtt_time

VTT = """WEBVTT - a walkaround

NOTE made by hand

1
00:01.000 --> 00:03.000 align:start
<v Ann>The <b>front</b> fender
is bent &amp; scratched.

02:03.500 --> 02:07.500
The seat is fine. It has one tear.
"""
SRT = """1
00:00:01,000 --> 00:00:03,000
The <i>front</i> fender
is bent & scratched.

2
00:02:03,500 --> 00:02:07,500
{\\an8}The seat is fine. It has one tear.
"""
PLAIN = """[0:01] The front fender is bent & scratched.

[2:03] The seat is fine.
It has one tear.
[1:02:10] The tank is clean.
"""
WANTED = [
    ("L001", "The front fender is bent & scratched.", 1.0, 3.0),
    ("L002", "The seat is fine.", 123.5, 125.5),
    ("L003", "It has one tear.", 125.5, 127.5),
]


def written(tmp_path: Path, name: str, content: str | bytes) -> Path:
    path = tmp_path / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


@pytest.mark.parametrize(
    ("name", "content", "origin"),
    [
        ("a.vtt", VTT, "webvtt"),
        ("a.vtt", "\ufeff" + VTT.replace("\n", "\r\n"), "webvtt"),
        ("a.txt", VTT, "webvtt"),
        ("a.srt", SRT, "subrip"),
        ("a.srt", "\ufeff" + SRT.replace("\n", "\r\n"), "subrip"),
        ("a.srt", SRT.replace(",", "."), "subrip"),
        ("a.txt", SRT, "subrip"),
    ],
)
def test_captions_are_read(tmp_path: Path, name: str, content: str, origin: str) -> None:
    transcript = read_captions(written(tmp_path, name, content))

    assert transcript.origin == origin
    assert transcript.duration_s == 127.5
    for line, (id_, text, start_s, end_s) in zip(transcript.lines, WANTED, strict=True):
        assert (line.id, line.text) == (id_, text)
        assert (line.start_s, line.end_s) == pytest.approx((start_s, end_s), abs=0.15)
        assert line.text == " ".join(word.text for word in line.words)
        assert {word.probability for word in line.words} == {None}


@pytest.mark.published
def test_published_subrip_times(tmp_path: Path) -> None:
    """The example of a subtitle editor's reference page for SubRip."""
    path = written(tmp_path, "a.srt", "1\n00:02:26,407 --> 00:02:31,356\nThe lid is cracked.\n")

    (line,) = read_captions(path).lines

    assert (line.start_s, line.end_s) == pytest.approx((146.407, 151.356))


@pytest.mark.published
@pytest.mark.parametrize(
    ("start", "end", "start_s"),
    [
        ("00:11.000", "00:13.000", 11.0),
        ("04:02.500", "04:03.500", 242.5),
        ("00:01:50.100", "00:02:00.000", 110.1),
        ("59:59.999", "01:00:01.000", 3599.999),
        ("01:02:03.004", "01:02:05.000", 3723.004),
        ("100:00:00.000", "100:00:01.000", 360000.0),
    ],
)
def test_published_webvtt_times(tmp_path: Path, start: str, end: str, start_s: float) -> None:
    """Examples and parser results of the W3C WebVTT draft, "collect a WebVTT timestamp"."""
    path = written(tmp_path, "a.vtt", f"WEBVTT\n\n{start} --> {end}\nThe lid.\n")

    assert read_captions(path).lines[0].start_s == pytest.approx(start_s)


def test_a_caption_ends_where_the_next_one_starts(tmp_path: Path) -> None:
    """Captions stay on the screen while others come; words are spoken in turn all the same."""
    shown = [(1, 60, "A dent."), (3, 4, "In the tank."), (5, 7, "The seat."), (5, 8, "Is fine.")]
    cues = [
        srt.Subtitle(number, timedelta(seconds=start), timedelta(seconds=end), text)
        for number, (start, end, text) in enumerate(shown)
    ]

    lines = read_captions(written(tmp_path, "a.srt", srt.compose(cues))).lines

    assert [(line.text, line.start_s, line.end_s) for line in lines] == [
        ("A dent.", 1.0, 3.0),
        ("In the tank.", 3.0, 4.0),
        ("The seat.", 5.0, 5.0),
        ("Is fine.", 5.0, 8.0),
    ]


def test_plain_text_with_times(tmp_path: Path) -> None:
    lines = read_captions(written(tmp_path, "a.txt", PLAIN)).lines

    assert [(line.text, line.start_s) for line in lines] == [
        ("The front fender is bent & scratched.", 1.0),
        ("The seat is fine.", 123.0),
        ("It has one tear.", pytest.approx(123 + 3607 * 18 / 35, abs=0.001)),
        ("The tank is clean.", 3730.0),
    ]
    assert lines[0].end_s == 123.0
    assert lines[-1].end_s == pytest.approx(3730.0 + 4 / 2.5)


def test_notes_are_no_speech_but_stay_in_the_record(tmp_path: Path) -> None:
    content = "[0:01] [music]\n[0:04] The tank is clean.\n[0:06] [inaudible]\n[0:09] Done.\n"

    lines = read_captions(written(tmp_path, "a.txt", content)).lines

    assert [(line.text, line.status, line.flags) for line in lines] == [
        ("[music]", "unheard", ["no_voice"]),
        ("The tank is clean.", "heard", []),
        ("[inaudible]", "unheard", ["speech_not_transcribed"]),
        ("Done.", "heard", []),
    ]


def test_rolling_captions_are_read_once(tmp_path: Path) -> None:
    content = (
        "WEBVTT\n\n00:01.000 --> 00:03.000\nthe front fender\n\n"
        "00:03.000 --> 00:05.000\nthe front fender\nhas a chip\n\n"
        "00:05.000 --> 00:07.000\nhas a chip\nnear the edge\n"
    )

    lines = read_captions(written(tmp_path, "a.vtt", content)).lines

    assert [line.text for line in lines] == ["the front fender", "has a chip", "near the edge"]


def _json(*segments: dict) -> str:
    return json.dumps({"text": "", "language": "en", "segments": list(segments)})


def test_recognisers_json_is_cut_anew_by_its_words(tmp_path: Path) -> None:
    words = [
        {"word": " The", "start": 1.0, "end": 1.2, "probability": 0.9},
        {"word": " seat", "start": 1.2, "end": 1.6, "probability": 0.8},
        {"word": " is", "start": 1.6, "end": 1.7, "probability": 0.9},
        {"word": " torn.", "start": 1.7, "end": 2.1, "probability": 0.9},
        {"word": " Tank", "start": 4.0, "end": 4.4, "probability": 0.3},
        {"word": " fine", "start": 4.4, "end": 4.8, "probability": 0.2},
    ]
    segment = {"start": 0.0, "end": 30.0, "text": " The seat is torn. Tank fine", "words": words}

    transcript = read_captions(written(tmp_path, "a.json", _json(segment)))

    assert transcript.origin == "recogniser_json"
    assert [(line.text, line.start_s, line.end_s) for line in transcript.lines] == [
        ("The seat is torn.", 1.0, 2.1),
        ("Tank fine", 4.0, 4.8),
    ]
    assert transcript.lines[1].flags == ["low_probability"]
    assert transcript.lines[1].words[0].probability == 0.3


@pytest.mark.parametrize("words", [None, [], [{"word": "Torn"}, {"word": "seat", "start": 1.0}]])
def test_recognisers_json_without_word_times(tmp_path: Path, words: list | None) -> None:
    segment = {"start": 1.0, "end": 3.0, "text": " Torn seat", "words": words}

    (line,) = read_captions(written(tmp_path, "a.json", _json(segment))).lines

    assert (line.text, line.start_s, line.end_s) == ("Torn seat", 1.0, 3.0)
    assert [word.start_s for word in line.words] == [1.0, 2.0]


SEGMENT = {"start": 5.0, "end": 6.0, "text": "The seat."}
WRONG = {
    "not UTF-8": ("a.vtt", "WEBVTT\n\n00:01.000 --> 00:02.000\ncaf\xe9\n".encode("latin-1"), 4),
    "no WEBVTT": ("a.vtt", "00:01.000 --> 00:02.000\nx\n", 1),
    "WebVTT time": ("a.vtt", "WEBVTT\n\n00:01.000 --> 00:02.000\nx\n\n00:03,5 --> 00:04\ny\n", 6),
    "WebVTT order": (
        "a.vtt",
        "WEBVTT\n\n00:09.000 --> 00:10.000\nx\n\n00:03.000 --> 00:04.000\ny\n",
        6,
    ),
    "WebVTT ends early": ("a.vtt", "WEBVTT\n\n00:09.000 --> 00:08.000\nx\n", 3),
    "SubRip time": ("a.srt", SRT + "\n3\n00:02:xx,000 --> 00:03:00,000\nx\n", 11),
    "SubRip order": ("a.srt", SRT + "\n3\n00:00:05,000 --> 00:00:06,000\nx\n", 11),
    "SubRip of nothing": ("a.srt", "The seat is torn.\n", 1),
    "plain without time": ("a.txt", "\nThe seat is torn.\n", 2),
    "plain time": ("a.txt", "[0:01] x\n[0:75] The seat is torn.\n", 2),
    "plain order": ("a.txt", "[0:09] x\n[0:03] The seat is torn.\n", 2),
    "JSON syntax": ("a.json", '{"segments": [\n{"start": 1,}]}', 2),
    "JSON shape": ("a.json", '{"segments": [{"start": 1}]}', "segments.0.end: Field required"),
    "JSON order": (
        "a.json",
        _json(SEGMENT, {**SEGMENT, "start": 1.0}),
        "segment 2: starts before the caption above it",
    ),
    "nothing": ("a.txt", "\n\n", "holds no captions"),
    "WebVTT of nothing": ("a.vtt", "WEBVTT\n", "holds no captions"),
    "missing": ("none.vtt", None, "cannot be read: No such file"),
}


@pytest.mark.parametrize(("name", "content", "where"), WRONG.values(), ids=WRONG)
def test_wrong_files_get_one_line_with_the_place(
    tmp_path: Path, name: str, content: str | bytes | None, where: int | str
) -> None:
    path = tmp_path / name if content is None else written(tmp_path, name, content)

    with pytest.raises(TranscriptError) as caught:
        read_captions(path)

    message = str(caught.value)
    assert message.startswith(str(path))
    assert "\n" not in message
    assert (f", line {where}: " if isinstance(where, int) else where) in message


texts = st.lists(
    st.sampled_from(["seat", "torn", "1.5", "it's", "&", "chip"]), min_size=1, max_size=9
).map(" ".join)
captions = st.lists(st.tuples(st.integers(1, 5000), texts), min_size=1, max_size=8)


@given(captions)
def test_what_is_written_is_read_again(
    tmp_path_factory: pytest.TempPathFactory, spoken: list[tuple[int, str]]
) -> None:
    folder = tmp_path_factory.mktemp("captions")
    at_ms, cues, subs = 0, ["WEBVTT\n"], []
    for length_ms, text in spoken:
        end_ms = at_ms + length_ms
        escaped = text.replace("&", "&amp;")
        cues.append(f"{webvtt_time(at_ms / 1000)} --> {webvtt_time(end_ms / 1000)}\n{escaped}\n")
        subs.append(
            srt.Subtitle(None, timedelta(milliseconds=at_ms), timedelta(milliseconds=end_ms), text)
        )
        at_ms = end_ms

    read = [
        read_captions(written(folder, "a.vtt", "\n".join(cues))),
        read_captions(written(folder, "a.srt", srt.compose(subs))),
    ]

    for transcript in read:
        assert [line.text for line in transcript.lines] == [text for _, text in spoken]
        assert transcript.duration_s == pytest.approx(at_ms / 1000)
