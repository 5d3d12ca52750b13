"""Caption and transcript files as a transcript: WebVTT, SubRip, a recogniser's JSON, plain text.

Captions carry no probabilities and usually no word times: the words of a caption are spread over
its time by their length. Each caption is a line of its own unless it holds several sentences.
"""

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from html import unescape
from itertools import accumulate, pairwise
from pathlib import Path

import srt
import webvtt
from pydantic import BaseModel, Field, ValidationError

from pipeline.errors import TranscriptError, WearwordError
from pipeline.listen.lines import (
    build_lines,
    flag_lines,
    line_of,
    numbered,
    repair_times,
    sentences,
)
from pipeline.models import Line, Transcript, TranscriptOrigin, Word
from pipeline.times import LATEST_S, parse_clock

_TAG = re.compile(r"<[^<>]*>|\{\\[^{}]*\}")  # WebVTT's and SubRip's <i>, <v Ann>; {\an8}
_VTT_TIME = r"(\d{1,4}:)?[0-5]?\d:[0-5]?\d\.\d{1,3}"
_VTT_TIMING = re.compile(rf"\s*{_VTT_TIME}\s*-->\s*{_VTT_TIME}(\s.*)?")
# SubRip's rule is a comma and an hour; files with a dot or without the hour are about.
_SRT_TIME = r"(\d{1,4}:)?\d{1,4}:\d{1,4}[,.]\d{1,9}"
_SRT_TIMING = re.compile(rf"\s*{_SRT_TIME}\s*-->\s*{_SRT_TIME}(\s.*)?")
_CLOCKED = re.compile(r"\s*\[([^\]]{0,20}\d:\d[^\]]{0,20})\]\s*(.*)")
_ENDLESS = re.compile(r"\d{40}")  # the library's pattern takes the cube of their number
_NOTE = re.compile(r"\[[^\]]*\]|\([^)]*\)|♪.*")  # [music], (laughs), ♪ la la ♪
_NOT_UNDERSTOOD = re.compile(
    r"inaudible|unintelligible|indistinct|crosstalk|not understood", re.IGNORECASE
)
_SPOKEN_WPS = 2.5  # ordinary talk; for a last plain line, whose end nobody wrote down
_CLOCK_STEP_S = 1.0  # how coarse m:ss is


@dataclass(frozen=True)
class _Caption:
    """One caption as written: its time in seconds, its text, and where it stands ("line 12")."""

    start_s: float
    end_s: float
    text: str
    where: str


class _TimedWord(BaseModel):
    word: str
    start: float | None = Field(default=None, ge=-LATEST_S, le=LATEST_S)
    end: float | None = Field(default=None, ge=-LATEST_S, le=LATEST_S)
    probability: float | None = None


class _Segment(BaseModel):
    start: float = Field(ge=0, le=LATEST_S)
    end: float = Field(ge=0, le=LATEST_S)
    text: str
    words: list[_TimedWord] | None = None


class _Recognised(BaseModel):
    segments: list[_Segment]


def read_captions(path: Path) -> Transcript:
    """Reads a caption file; its content, or else its name's ending, says of which sort it is.

    Raises TranscriptError, with file and line number, where it cannot be read, is not UTF-8, or
    its captions are out of order.
    """
    text = _text(path)
    origin = _origin(path, text)
    if origin == "recogniser_json":
        lines = _from_segments(path, _segments(path, text))
    elif origin == "webvtt":
        lines = _from_captions(path, _webvtt(path, text))
    elif origin == "subrip":
        lines = _from_captions(path, _subrip(path, text))
    else:
        lines = _from_captions(path, _plain_text(path, text))
    if not lines:
        raise TranscriptError(f"{path}: holds no captions")
    return Transcript(
        origin=origin,
        lines=flag_lines(
            numbered(lines), clock_step_s=_CLOCK_STEP_S if origin == "plain_text" else 0.0
        ),
        duration_s=max(line.end_s for line in lines),
    )


def _text(path: Path) -> str:
    try:
        return path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError as error:
        number = error.object[: error.start].count(b"\n") + 1
        raise TranscriptError(f"{path}, line {number}: is not UTF-8; save it as UTF-8") from error
    except OSError as error:
        raise TranscriptError(f"{path}: cannot be read: {error.strerror}") from error


def _origin(path: Path, text: str) -> TranscriptOrigin:
    ending = path.suffix.lower()
    if text.startswith("WEBVTT") or ending == ".vtt":
        return "webvtt"
    if ending == ".json":
        return "recogniser_json"
    if ending == ".srt" or "-->" in text:
        return "subrip"
    return "plain_text"


# --- the formats --------------------------------------------------------------------------------


def _webvtt(path: Path, text: str) -> list[_Caption]:
    if not text.startswith("WEBVTT"):
        raise TranscriptError(f"{path}, line 1: a WebVTT file begins with WEBVTT")
    places = _places(path, text, _VTT_TIMING)
    cues = webvtt.from_string(text).captions
    _check_count(path, len(cues), places)
    return _unrolled(
        [
            _Caption(parse_clock(cue.start), parse_clock(cue.end), _TAG.sub("", cue.raw_text), at)
            for cue, at in zip(cues, places, strict=True)
        ]
    )


def _subrip(path: Path, text: str) -> list[_Caption]:
    places = _places(path, text, _SRT_TIMING)
    if endless := _ENDLESS.search(text):
        number = text.count("\n", 0, endless.start()) + 1
        raise _at(path, f"line {number}", "more digits in a row than any time or number has")
    try:
        cues = list(srt.parse(text))
    except srt.SRTParseError as error:
        lead = len(error.unmatched_content) - len(error.unmatched_content.lstrip())
        number = text[: error.expected_start + lead].count("\n") + 1
        raise _at(path, f"line {number}", "no caption can be read here") from error
    _check_count(path, len(cues), places)
    return [
        _Caption(cue.start.total_seconds(), cue.end.total_seconds(), _TAG.sub("", cue.content), at)
        for cue, at in zip(cues, places, strict=True)
    ]


def _places(path: Path, text: str, timing: re.Pattern[str]) -> list[str]:
    """Where each caption's times stand in the file.

    The libraries pass over a caption whose times they cannot read; a caption lost without a word
    may hide a flaw, so that is an error here.
    """
    places = []
    for number, line in enumerate(text.split("\n"), 1):
        if "-->" in line:
            places.append(f"line {number}")
            if not timing.fullmatch(line):
                raise _at(path, places[-1], f"'{line.strip()}' is no time of a caption")
    return places


def _check_count(path: Path, read: int, places: Sequence[str]) -> None:
    if read != len(places):
        raise _at(path, places[0] if places else "line 1", "captions need blank lines between them")


def _plain_text(path: Path, text: str) -> list[_Caption]:
    """Lines `[m:ss] text`; a line without a time goes on with the one before."""
    captions: list[_Caption] = []
    for number, line in enumerate(text.split("\n"), 1):
        if not line.strip():
            continue
        found = _CLOCKED.fullmatch(line)
        if not found and not captions:
            raise _at(path, f"line {number}", "does not begin with a time such as [0:05]")
        try:
            start_s = parse_clock(found[1]) if found else captions[-1].start_s
        except WearwordError as error:
            raise _at(path, f"line {number}", str(error)) from error
        said = found[2] if found else line.strip()
        if captions and captions[-1].start_s == start_s:
            captions[-1] = replace(captions[-1], text=f"{captions[-1].text} {said}".strip())
        else:
            captions.append(_Caption(start_s, start_s, said, f"line {number}"))
    if not captions:
        return []
    last = captions[-1]
    end_s = last.start_s + len(last.text.split()) / _SPOKEN_WPS
    return [
        *(replace(one, end_s=max(one.start_s, then.start_s)) for one, then in pairwise(captions)),
        replace(last, end_s=end_s),
    ]


def _segments(path: Path, text: str) -> list[_Segment]:
    try:
        return _Recognised.model_validate_json(text).segments
    except ValidationError as error:
        first = error.errors()[0]
        if first["type"] == "json_invalid":  # "Invalid JSON: trailing comma at line 1 column 8"
            what, _, place = first["msg"].rpartition(" at ")
            raise _at(path, place.partition(" column")[0], what) from error
        where = ".".join(str(step) for step in first["loc"]) or "the file"
        raise TranscriptError(f"{path}: {where}: {first['msg']}") from error


# --- captions to lines --------------------------------------------------------------------------


def _from_captions(path: Path, captions: Sequence[_Caption]) -> list[Line]:
    for before, after in pairwise(captions):
        if after.start_s < before.start_s:
            raise _at(path, after.where, "starts before the caption above it; sort the captions")
    for caption in captions:
        if caption.end_s < caption.start_s:
            raise _at(path, caption.where, "ends before it starts")
    shown = [caption for caption in captions if caption.text.strip()]
    return [line for caption in _one_by_one(shown) for line in _lines(caption)]


def _one_by_one(captions: Sequence[_Caption]) -> Iterator[_Caption]:
    """Captions that are over when the next one starts, for words are in time order.

    Many stay on the screen longer than they are spoken. Of those with one start, the last has all
    the time.
    """
    starts_s = [caption.start_s for caption in captions]
    for caption, next_s in zip(captions, [*starts_s[1:], math.inf], strict=False):
        yield replace(caption, end_s=min(caption.end_s, next_s))


def _from_segments(path: Path, segments: Sequence[_Segment]) -> list[Line]:
    """Lines cut anew where all words have times, for a recogniser's segments are paragraphs."""
    words = [
        Word(
            text=part.word.strip(),
            start_s=part.start,
            end_s=max(part.start, part.end),
            probability=part.probability,
        )
        for segment in segments
        for part in segment.words or ()
        if part.word.strip() and part.start is not None and part.end is not None
    ]
    timed = sum(len(segment.words or ()) for segment in segments if segment.text.strip())
    if words and len(words) == timed and all(s.words for s in segments if s.text.strip()):
        return build_lines(repair_times(words))
    return _from_captions(
        path, [_Caption(s.start, s.end, s.text, f"segment {n}") for n, s in enumerate(segments, 1)]
    )


def _lines(caption: _Caption) -> Iterator[Line]:
    text = " ".join(unescape(caption.text).split())
    if not text:
        return
    if _NOTE.fullmatch(text):
        spoken = _NOT_UNDERSTOOD.search(text) is not None
        yield Line(
            id="",
            start_s=caption.start_s,
            end_s=caption.end_s,
            text=text,
            status="unheard",
            flags=["speech_not_transcribed" if spoken else "no_voice"],
        )
        return
    for sentence in sentences(_spread(text.split(), caption.start_s, caption.end_s)):
        yield line_of(sentence)


def _spread(words: Sequence[str], start_s: float, end_s: float) -> list[Word]:
    """Words with times in proportion to their length, one space each included."""
    marks = [0, *accumulate(len(word) + 1 for word in words)]
    per_letter_s = (end_s - start_s) / marks[-1]
    return [
        Word(
            text=word,
            start_s=round(start_s + at * per_letter_s, 3),
            end_s=round(start_s + to * per_letter_s, 3),
        )
        for word, (at, to) in zip(words, pairwise(marks), strict=True)
    ]


def _unrolled(captions: Sequence[_Caption]) -> list[_Caption]:
    """Captions without the rows that they repeat, where most of them do (the rolling sort)."""
    rows = [[row.strip() for row in c.text.split("\n") if row.strip()] for c in captions]
    repeats = [bool(one and then) and one[-1] == then[0] for one, then in pairwise(rows)]
    if sum(repeats) <= len(repeats) / 2 or all(len(shown) < 2 for shown in rows):
        return list(captions)
    fresh = [shown[repeat:] for shown, repeat in zip(rows, [False, *repeats], strict=True)]
    return [replace(c, text=" ".join(new)) for c, new in zip(captions, fresh, strict=True)]


def _at(path: Path, where: str, what: str) -> TranscriptError:
    return TranscriptError(f"{path}, {where}: {what}")
