"""Captions and chapters: WebVTT (W3C, editor's draft of 14 May 2026) and the plain chapter text."""

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape

from pipeline.models import Line
from pipeline.publish.handover import Flaw, Handover, briefly, line_status, line_text
from pipeline.times import clock, webvtt_time

# What sites that read chapters from a text ask for: three or more, ten seconds apart.
_LEAST_CHAPTERS = 3
_CHAPTER_S = 10.0
_LONGEST_TITLE = 90

_SHORTEST_CUE_S = 0.001  # a cue's end must be later than its start
_NOT_MADE_OUT = "[not made out]"
_UNSURE = "[unsure]"


@dataclass(frozen=True)
class Chapter:
    """A chapter from its start, in seconds, to the next one's."""

    start_s: float
    title: str


def captions(lines: Iterable[Line]) -> str:
    """The transcript as WebVTT captions; lines that are doubtful or not made out say so."""
    cues = []
    for line in sorted(lines, key=lambda line: line.start_s):
        text = _caption(line)
        if text:
            cues.append(_cue(line.start_s, line.end_s, text))
    return _webvtt(cues)


def _caption(line: Line) -> str:
    """A line's words, but not those of a line that nobody could make out: they may be invented."""
    match line_status(line):
        case "unheard":
            return _NOT_MADE_OUT
        case "doubtful":
            return f"{_UNSURE} {line_text(line)}"
        case "heard":
            return line_text(line)


def chapters(handover: Handover) -> list[Chapter]:
    """Chapters of ten seconds or more over the whole recording, the first at 0.

    Flaws that come sooner after a chapter's start belong to it; one title names them all.
    """
    starts = [0.0]
    members: list[list[Flaw]] = [[]]
    last_start_s = handover.record.source.duration_s - _CHAPTER_S
    for flaw in handover.flaws:
        start_s = flaw.moment.start_s
        if start_s - starts[-1] >= _CHAPTER_S and start_s <= last_start_s:
            starts.append(start_s)
            members.append([])
        members[-1].append(flaw)
    return [
        Chapter(start_s=start_s, title=_title(flaws))
        for start_s, flaws in zip(starts, members, strict=True)
    ]


def chapters_vtt(chapters: Sequence[Chapter], duration_s: float) -> str:
    """Chapters as WebVTT: consecutive intervals that do not overlap."""
    ends = [chapter.start_s for chapter in chapters[1:]] + [duration_s]
    return _webvtt(
        _cue(chapter.start_s, end_s, chapter.title)
        for chapter, end_s in zip(chapters, ends, strict=True)
    )


def chapter_text(chapters: Sequence[Chapter]) -> str:
    """One `m:ss title` a line, the first at 0:00; empty where there are too few to be read."""
    if len(chapters) < _LEAST_CHAPTERS:
        return ""
    return "".join(f"{clock(chapter.start_s)} {chapter.title}\n" for chapter in chapters)


def _title(flaws: Sequence[Flaw]) -> str:
    titles = briefly(flaws)
    if not titles:
        return "Walkaround begins"
    text = textwrap.shorten(titles[0], _LONGEST_TITLE, placeholder="...")
    for told, next_title in enumerate(titles[1:], start=1):
        longer = f"{text}; {next_title}"
        if len(longer) > _LONGEST_TITLE:
            return f"{text}; {len(titles) - told} more"
        text = longer
    return text


def _webvtt(cues: Iterable[str]) -> str:
    return "\n".join(["WEBVTT\n", *cues])


def _cue(start_s: float, end_s: float, text: str) -> str:
    end_s = max(end_s, start_s + _SHORTEST_CUE_S)
    # Escaping ">" also keeps "-->" out, which would end the cue.
    return f"{webvtt_time(start_s)} --> {webvtt_time(end_s)}\n{escape(text, quote=False)}\n"
