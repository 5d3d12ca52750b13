"""The page: one HTML file that opens from disk without a network and seeks the video."""

import base64
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Literal
from urllib.parse import urlsplit

from markupsafe import Markup

from pipeline import wording
from pipeline.models import LineStatus
from pipeline.publish.handover import Flaw, Handover, stretch_text
from pipeline.publish.linked_data import json_text, listing_data
from pipeline.publish.listing import template_context
from pipeline.publish.stills import Still
from pipeline.publish.templating import render
from pipeline.times import Interval, clock

TEMPLATE = "page.html.j2"
STILLS = "stills"

Lane = Literal["left", "none", "right"]

_LANES: dict[str | None, tuple[Lane, ...]] = {
    "left": ("left",),
    "right": ("right",),
    "both": ("left", "right"),
    None: ("none",),
}
_NARROWEST_PCT = 0.8  # a mark on the strip that a finger can still hit
_TICKS = 4


@dataclass(frozen=True)
class Picture:
    """A still and its thumbnail, with their paths in the published folder."""

    time_s: float
    file: str
    jpeg: bytes
    thumbnail_file: str
    thumbnail: bytes

    @classmethod
    def of(cls, flaw: Flaw, still: Still) -> "Picture":
        """A flaw's still, named after the flaw and the frame's time."""
        name = f"{STILLS}/{flaw.anchor}-{still.time_s:.3f}s"
        return cls(
            time_s=still.time_s,
            file=f"{name}.jpg",
            jpeg=still.jpeg,
            thumbnail_file=f"{name}-small.jpg",
            thumbnail=still.thumbnail,
        )

    @property
    def uri(self) -> Markup:
        """The picture as the page carries it."""
        return _data_uri("image/jpeg", self.jpeg)

    @property
    def thumbnail_uri(self) -> Markup:
        """The thumbnail as the page carries it."""
        return _data_uri("image/jpeg", self.thumbnail)

    @property
    def at(self) -> str:
        """When the frame is shown, `m:ss.ttt`."""
        return f"{clock(self.time_s)}.{int(self.time_s * 1000) % 1000:03}"


@dataclass(frozen=True)
class Mark:
    """A flaw on the strip: where it lies along the recording, in percent, and in which lane."""

    flaw: Flaw
    lane: Lane
    first: bool
    x_pct: float
    width_pct: float


@dataclass(frozen=True)
class Stretch:
    """A stretch of talk on the strip that was not heard well, in percent of the recording."""

    status: LineStatus
    label: str
    start_s: float
    x_pct: float
    width_pct: float


def page(
    handover: Handover,
    *,
    pictures: Mapping[str, Sequence[Picture]],
    captions: str,
    chapters: str,
    texts: Mapping[str, str],
    templates: Path | None = None,
) -> str:
    """The page as HTML. `pictures` are by finding id, the chosen one first; `texts` can be copied.

    Raises PublishError where a shop's template is wrong.
    """
    style, script = _asset("page.css"), _asset("page.js")
    return render(
        TEMPLATE,
        {
            **template_context(handover),
            "policy": _policy(handover.media, style, script),
            "style": Markup(style),
            "script": Markup(script),
            "linked_data": Markup(json_text(listing_data(handover))),
            "captions": _data_uri("text/vtt", captions.encode()),
            "chapters": _data_uri("text/vtt", chapters.encode()),
            "pictures": pictures,
            "marks": _marks(handover),
            "stretches": _stretches(handover),
            "ticks": _ticks(handover.record.source.duration_s),
            "choices": _choices(handover.flaws),
            "texts": texts,
        },
        templates,
    )


def _policy(media: str | None, style: str, script: str) -> str:
    """The content security policy: our own style and script by digest, and the video, only."""
    video = "'self' file: data:"
    if media is not None and media.startswith(("https://", "http://")):
        parts = urlsplit(media)
        video = f"{parts.scheme}://{parts.netloc} data:"
    return (
        "default-src 'none'; img-src data:; base-uri 'none'; form-action 'none'; "
        f"media-src {video}; style-src {_digest(style)}; script-src {_digest(script)}"
    )


def _digest(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def _asset(name: str) -> str:
    return resources.files("pipeline.publish").joinpath("templates", name).read_text("utf-8")


def _data_uri(media_type: str, content: bytes) -> Markup:
    return Markup(f"data:{media_type};base64,{base64.b64encode(content).decode()}")


def _marks(handover: Handover) -> list[Mark]:
    marks = []
    for flaw in handover.flaws:
        x_pct, width_pct = _share(flaw.finding.interval, handover.record.source.duration_s)
        marks += [
            Mark(flaw=flaw, lane=lane, first=number == 0, x_pct=x_pct, width_pct=width_pct)
            for number, lane in enumerate(_LANES[flaw.finding.side])
        ]
    return marks


def _stretches(handover: Handover) -> list[Stretch]:
    told: list[tuple[LineStatus, str, Sequence[Interval]]] = [
        ("unheard", "not made out", handover.unheard),
        ("doubtful", "doubtful", handover.doubtful),
    ]
    stretches = []
    for status, name, spans in told:
        for span in spans:
            x_pct, width_pct = _share(span, handover.record.source.duration_s)
            label = f"{name}, {stretch_text(span)}"
            stretches.append(Stretch(status, label, round(span.start_s, 3), x_pct, width_pct))
    return stretches


def _share(span: Interval, duration_s: float) -> tuple[float, float]:
    """Start and width in percent of the recording, wide enough to be seen, within the strip."""
    whole_s = max(duration_s, span.end_s, 1e-9)
    width_pct = max(_NARROWEST_PCT, 100 * span.duration_s / whole_s)
    x_pct = min(100 * span.start_s / whole_s, 100 - width_pct)
    return round(x_pct, 3), round(width_pct, 3)


def _ticks(duration_s: float) -> list[tuple[float, str]]:
    return [(100 * i / _TICKS, clock(duration_s * i / _TICKS)) for i in range(_TICKS + 1)]


def _choices(flaws: Sequence[Flaw]) -> dict[str, list[tuple[str, str]]]:
    """What each filter offers: (value, label) of what occurs among the flaws."""
    parts = {f.finding.part: wording.bare_part_name(f.finding.part) for f in flaws}
    groups = {f.group: wording.group_name(f.group) for f in flaws}
    sides = {f.finding.side or "none": f.finding.side or "no side said" for f in flaws}
    grades = sorted({f.finding.severity for f in flaws if f.finding.severity is not None})
    return {
        "part": sorted(parts.items(), key=lambda item: item[1]),
        "side": sorted(sides.items()),
        "grade": [(str(g), f"{g} or more ({wording.grade_word(g)})") for g in grades],
        "group": sorted(groups.items(), key=lambda item: item[1]),
    }
