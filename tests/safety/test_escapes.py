"""Whatever was spoken, or a file is called, acts on nothing: page, table, captions, Markdown, JSON."""

import csv
import html.parser
import io
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
import webvtt
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from rich.console import Console

from lexicon.load import load_lexicon
from pipeline import wording
from pipeline.models import Record
from pipeline.publish.captions import captions, chapters, chapters_vtt
from pipeline.publish.handover import Handover, prepare
from pipeline.publish.linked_data import annotations, json_text, listing_data
from pipeline.publish.links import Linker
from pipeline.publish.listing import listing_texts
from pipeline.publish.page import page
from pipeline.publish.table import table
from pipeline.review.questions import open_questions
from pipeline.review.view import question_text, question_words
from pipeline.terminal import show_record
from pipeline.walkaround import Saved
from tests.publish.conftest import nasty_record

HOSTILE = [
    "</script><script>alert(1)</script>", "<img src=x onerror=alert(1)>", "<!--", "]]>", "-->",
    "'\" onmouseover=alert(1) x=", "&lt;script&gt;", "javascript:alert(1)", "{{ 7 * 7 }}", "{% raw %}",
    "=cmd|' /C calc'!A0", "+1", "@SUM(A1)", "\t=1", "\r=1", "\uff1d1", '","', "\x1b[31m", "\x1b]0;x\x07",
    "\x1b]8;;http://x\x1b\\y", "\x9b31m", "\u202e", "\u2028", "\0", "\n\n", "\r\n\r\n", "# h", "- x",
    "1. x", "[x](http://x)", "![x](http://x)", "`x`", "***", "___", "~~~", "|", "<http://x>", "&copy;",
    "http://x.example", "www.x.example", "\ud800", "\ufeff", "NOTE x", "STYLE", "WEBVTT", "0:01 --> 0:02",
    "[/b]", "[bold red]", "[link=http://x]y[/link]", "</style>", "<svg/onload=alert(1)>", "\\", "$(x)",
]  # fmt: skip
words = st.lists(
    st.one_of(st.sampled_from(HOSTILE), st.text(max_size=6), st.just("dent")),
    min_size=1,
    max_size=4,
).map(" ".join)
quickly = settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def told_with(said: str) -> Record:
    """A record with the words wherever a recording, its name or a reviewer can put them."""
    data = nasty_record().to_json()
    data["source"]["file_name"] = f"{said}.mp4"
    data["vehicle"] |= {"make": said, "model": said, "stock_number": said, "vin": said}
    for finding in data["findings"]:
        finding |= {"part_said": said, "detail": said, "heard": said, "read_as": said,
                    "caution": said, "part": "other"}  # fmt: skip
    for line in data["lines"]:
        line |= {"text": said, "said": said, "words": [
            {"text": said, "start_s": line["start_s"], "end_s": line["end_s"]}]}  # fmt: skip
    data["unmentioned"] = [said]
    data["settings"]["speech_model"] = said
    return Record.model_validate(data)


def handover(said: str) -> Handover:
    record = told_with(said)
    lexicon = load_lexicon("motorcycle")
    linker = Linker("https://shop.example/v.mp4", None, 2.0, record.source.duration_s)
    return prepare(record, parts=lexicon.parts, defects=lexicon.defects, linker=linker,
                   units="in", include_unconfirmed=True)  # fmt: skip


class Skeleton(html.parser.HTMLParser):
    """The elements of a page with the names of their attributes, and what acts or leads away."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, tuple[str, ...]]] = []
        self.addresses: set[str] = set()
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, tuple(name for name, _ in attrs)))
        self.addresses |= {
            re.sub(r"[#,].*", "", value or "")
            for name, value in attrs
            if name in ("href", "src", "action", "poster", "data")
        }


def written_page(told: Handover) -> str:
    return page(told, pictures={}, captions=captions(told.record.lines), chapters="WEBVTT\n",
                texts=listing_texts(told))  # fmt: skip


def shape(told: Handover) -> Skeleton:
    return Skeleton(written_page(told))


@quickly
@given(words)
def test_words_add_no_element_and_no_attribute_to_the_page(said: str) -> None:
    plain, hostile = shape(handover("dent")), shape(handover(said))
    kinds = {tag for tag, _ in plain.elements}
    assert {tag for tag, _ in hostile.elements} <= kinds
    assert set(hostile.elements) <= set(plain.elements) | {("dd", ()), ("dt", ())}
    assert hostile.addresses == plain.addresses
    assert hostile.elements.count(("script", ())) == plain.elements.count(("script", ()))


@quickly
@given(words)
def test_words_stay_in_their_cell(said: str) -> None:
    told = handover(said)
    text = table(told)
    rows = list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline="")))
    assert len(rows) == 1 + len(told.flaws)
    assert {len(row) for row in rows} == {len(rows[0])}
    for cell in (cell for row in rows[1:] for cell in row):
        assert not cell.lstrip().startswith(("=", "+", "-", "@", "\t", "\r", "|", "\uff1d"))
    assert not hidden(text.replace("\r\n", "").removeprefix("\ufeff"))


@quickly
@given(words)
def test_words_end_no_caption(said: str) -> None:
    told = handover(said)
    for text in (captions(told.record.lines), chapters_vtt(chapters(told), 60.0)):
        cues = webvtt.from_buffer(io.StringIO(text)).captions
        assert text.count("-->") == len(cues)
        assert not hidden(text.replace("\n", ""))
        blocks = [block for block in re.split(r"\n\n+", text.strip())[1:] if block]
        assert len(blocks) == len(cues)
        assert all("-->" in block.splitlines()[0] for block in blocks)


@quickly
@given(words)
def test_words_are_only_text_in_markdown(said: str) -> None:
    told, plain = handover(said), handover("dent")
    reader = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])

    def marks(text: str) -> Iterator[tuple[str, str]]:
        for token in reader.parse(text):
            for part in token.children or [token]:
                if part.type not in ("text", "softbreak", "text_special"):
                    yield part.type, str(part.attrs.get("href", part.attrs.get("src", "")))

    text = listing_texts(told)["listing.md"]
    assert set(marks(text)) <= set(marks(listing_texts(plain)["listing.md"]))
    assert not hidden(text.replace("\n", ""))


@quickly
@given(words)
def test_words_say_the_same_in_json(said: str) -> None:
    told = handover(said)
    for data in (listing_data(told), annotations(told)):
        text = json_text(data)
        assert json.loads(text) == data
        assert not set("<>&\u2028\u2029") & set(text)


def hidden(text: str) -> set[str]:
    """Characters that act on a terminal or on the reading direction."""
    return {c for c in text if c != wording.plain(f"a{c}a")[1:-1] and c != " "}


def shown(*things: object) -> str:
    console = Console(file=io.StringIO(), force_terminal=True, width=80, color_system="standard")
    for thing in things:
        console.print(thing)
    return console.file.getvalue()  # type: ignore[attr-defined, no-any-return]


def acts(text: str) -> bool:
    """Whether text does more to a terminal than to set colours."""
    plain = re.sub(r"\x1b\[[0-9;]*m", "", text)
    return bool(re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", plain))


@quickly
@given(words)
def test_words_act_on_no_terminal(said: str) -> None:
    record = told_with(said)
    asked = list(open_questions(record, lambda code: code))
    assert asked
    assert not acts(shown(*(view(question, 1) for question in asked
                            for view in (question_text, question_words))))  # fmt: skip


@pytest.mark.parametrize("said", [
    "[/b]",
    "[link=http://x]y",
    "\x1b[31mred", "\x1b]0;x\x07", "\u202eder",
])  # fmt: skip
def test_words_act_on_no_terminal_after_logging(said: str) -> None:
    console = Console(file=io.StringIO(), force_terminal=True, width=200, color_system="standard")
    show_record(console, told_with(said), Saved(Path("a.walkaround"), None))
    text = console.file.getvalue()  # type: ignore[attr-defined]
    assert not acts(text)
    assert wording.plain(said) in text


def test_a_folder_s_name_acts_on_no_terminal() -> None:
    console = Console(file=io.StringIO(), force_terminal=True, width=200, color_system="standard")
    show_record(console, told_with("dent"), Saved(Path("a\x1b]0;owned\x07.walkaround"), None))
    assert not acts(console.file.getvalue())  # type: ignore[attr-defined]
