import json
import re
from collections.abc import Callable
from html.parser import HTMLParser

import pytest

from pipeline.models import Record
from pipeline.publish.handover import Handover
from pipeline.publish.page import Picture, page
from tests.publish.conftest import finding

HandoverOf = Callable[..., Handover]

PICTURE = Picture(time_s=83.25, file="s/a.jpg", jpeg=b"j", thumbnail_file="s/b.jpg", thumbnail=b"t")


class Elements(HTMLParser):
    """Every element of a page with its attributes, and the text of scripts."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.scripts: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        if self.found and self.found[-1][0] == "script" and data.strip():
            self.scripts.append(data)

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.found if name == tag]


def page_of(handover: Handover, **parts: object) -> str:
    usual: dict[str, object] = {
        "pictures": {"F001": [PICTURE, PICTURE]},
        "captions": "WEBVTT\n",
        "chapters": "WEBVTT\n",
        "texts": {"listing.txt": "line one\nline two <b>\n"},
    }
    return page(handover, **(usual | parts))  # type: ignore[arg-type]


def test_the_page_asks_for_nothing_but_the_video(record: Record, handover_of: HandoverOf) -> None:
    elements = Elements(page_of(handover_of(record, media="../walk.mp4")))
    policy = elements.all("meta")[1]["content"] or ""
    assert policy.startswith("default-src 'none'; img-src data:;")
    assert "unsafe" not in policy
    assert "http" not in policy
    loaded = [a["src"] or "" for _, a in elements.found if "src" in a]
    assert [src for src in loaded if not src.startswith("data:")] == ["../walk.mp4"]
    assert elements.all("link") == []


def test_a_video_on_the_web_is_let_in_by_its_host_alone(
    record: Record, handover_of: HandoverOf
) -> None:
    text = page_of(handover_of(record, media="https://shop.example:8443/walk.mp4?a=1&b=2"))
    policy = Elements(text).all("meta")[1]["content"] or ""
    assert "media-src https://shop.example:8443 data:;" in policy


def test_nothing_said_becomes_markup(record: Record, handover_of: HandoverOf) -> None:
    for found in record.findings:
        found.part_said = found.detail = found.heard = found.read_as = '"><svg onload=alert(1)>'
        found.caution = "</p><script>alert(1)</script>"
    elements = Elements(page_of(handover_of(record)))
    assert [src for src in (a.get("src") for a in elements.all("img")) if src == "x"] == []
    assert not [a for _, attributes in elements.found for a in attributes if a.startswith("on")]
    assert len(elements.all("script")) == 2
    assert len(elements.all("svg")) == 1
    assert json.loads(elements.scripts[0])["@context"] == "https://schema.org"


def test_nothing_acts_on_the_reading_direction(record: Record, handover_of: HandoverOf) -> None:
    assert not set(page_of(handover_of(record))) & set("\x1b\u202a\u202b\u202c\u202d\u202e\u2066")


def test_every_flaw_has_a_row_and_a_mark_per_side(record: Record, handover_of: HandoverOf) -> None:
    elements = Elements(page_of(handover_of(record)))
    rows = [a for a in elements.all("li") if "data-start" in a]
    assert [a["id"] for a in rows] == ["F001", "F002", "F003", "F004", "F005", "F008"]
    assert rows[0]["data-start"] == "6.4"
    assert rows[0]["data-link"] == "https://shop.example/walk.mp4#t=6.4,11.25"
    marks = [a for a in elements.all("a") if "data-flaw" in a]
    assert [a["data-flaw"] for a in marks].count("F002") == 2
    assert [a.get("tabindex") for a in marks].count("0") == 1
    hatched = [a for a in elements.all("rect") if a.get("class") in {"unheard", "doubtful"}]
    assert [(a["class"], a["x"], a["width"], a["fill"]) for a in hatched] == [
        ("unheard", "43.333%", "6.667%", "url(#hatch)"),
        ("doubtful", "86.667%", "3.333%", "url(#sparse)"),
    ]


@pytest.mark.parametrize(("start_s", "end_s"), [(0.0, 0.0), (59.99, 60.0), (75.0, 80.0)])
def test_marks_stay_on_the_strip(
    record: Record, handover_of: HandoverOf, start_s: float, end_s: float
) -> None:
    record.findings = [finding(start_s=start_s, end_s=end_s)]
    bar = next(
        a for a in Elements(page_of(handover_of(record))).all("rect") if a.get("class") == "bar"
    )
    x, width = (float((bar[name] or "").rstrip("%")) for name in ("x", "width"))
    assert x >= 0
    assert width > 0
    assert x + width <= 100


def test_pictures_stand_in_the_page_with_their_time(
    record: Record, handover_of: HandoverOf
) -> None:
    images = [a for a in Elements(page_of(handover_of(record))).all("img") if a.get("src")]
    assert [(a["src"], (a["alt"] or "").split(":")[0]) for a in images] == [
        ("data:image/jpeg;base64,ag==", "Video still at 1"),
        ("data:image/jpeg;base64,dA==", "Video still at 1"),
    ]
    assert "1:23.250" in (images[0]["alt"] or "")


def test_unconfirmed_flaws_are_marked(record: Record, handover_of: HandoverOf) -> None:
    text = page_of(handover_of(record, include_unconfirmed=True))
    row = next(a for a in Elements(text).all("li") if a.get("id") == "F006")
    assert row["class"] == "unconfirmed"
    assert (row["data-sentence"] or "").startswith("Unconfirmed: ")


def test_texts_keep_their_lines(record: Record, handover_of: HandoverOf) -> None:
    text = page_of(handover_of(record))
    assert "line one\nline two &lt;b&gt;\n</pre>" in text


def test_without_a_video_there_is_no_player(record: Record, handover_of: HandoverOf) -> None:
    elements = Elements(page_of(handover_of(record, media=None)))
    assert elements.all("video") == elements.all("audio") == []
    assert "play" not in [a.get("class") for a in elements.all("button")]


def test_a_sound_recording_is_played_as_sound(record: Record, handover_of: HandoverOf) -> None:
    record.source.has_video = False
    elements = Elements(page_of(handover_of(record)))
    assert len(elements.all("audio")) == 1
    assert elements.all("video") == []


def test_a_record_without_flaws_makes_a_page(record: Record, handover_of: HandoverOf) -> None:
    record.findings = []
    text = page_of(handover_of(record), pictures={})
    assert "No settled flaw comes from what was said." in text
    assert not re.search(r"<form id=.filters", text)
