"""Bad files: a result or one clear error of ours, never anything else."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from fuzz import TARGETS, Seed, attempt, run
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.errors import ReviewError
from pipeline.record import read_record, write_record
from pipeline.review.journal import read_journal
from pipeline.review.sitting import apply_decisions_file
from pipeline.review.wordbook import Wordbook
from tests.publish.conftest import nasty_record

ENDED = ("result", "refusal")


def segment(start: object = 0, end: object = 1, text: str = "a dent in the tank") -> str:
    return json.dumps({"segments": [{"start": start, "end": end, "text": text}]})


_MANY = "9" * 5000
_DEEP = "[" * 100_000

FILES = [
    ("captions", "deep.json", _DEEP),
    ("captions", "int.json", f'{{"segments":[{{"start":{_MANY}}}]}}'),
    ("captions", "nan.json", segment(start=float("nan"))),
    ("captions", "hour.srt", "1\n99999999999999:00:00,000 --> 99999999999999:00:01,000\nx\n"),
    ("captions", "digits.srt", f"1\n{_MANY}:00:00,000 --> 00:00:01,000\nx\n"),
    ("captions", "digits.txt", f"[{_MANY}:00:00] x\n"),
    ("captions", "hours.txt", f"[{'9' * 400}:00:00] x\n"),
    ("captions", "hours.vtt", f"WEBVTT\n\n{'9' * 400}:00:00.000 --> 00:01.000\nx\n"),
    ("captions", "digits.vtt", "WEBVTT\n\n٠٠:٠٥.000 --> 00:06.000\nx\n"),
    ("captions", "marks.txt", "[0:05] " + "<" * 100_000 + "{\\" * 100_000),
    ("captions", "endless.srt", f"{_MANY}\n00:00:01,000 --> 00:00:02,000\nx\n"),
    ("captions", "tags.vtt", "WEBVTT\n\n00:01.000 --> 00:02.000\n" + "<" * 1_000_000),
    ("captions", "tags.srt", "1\n00:00:01,000 --> 00:00:02,000\n" + "{\\" * 500_000),
    ("captions", "clocks.txt", "[0:05] x\n[" + "0:0" * 300_000),
    ("captions", "blank.srt", "1\n00:00:01,000 --> 00:00:02,000\nx\n" + "\n" * 1_000_000),
    ("captions", "nothing.vtt", ""),
    ("captions", "nul.txt", "[0:05] \0 dent in the tank\0\n"),
    ("whole", "infinite.json", segment(end=float("inf"))),
    ("whole", "surrogate.json", segment(text="\ud800 hello")),
    ("whole", "late.json", segment(end=1e308)),
    ("whole", "overlap.srt", "1\n00:00:01,000 --> 00:40:00,000\nis a little z\n\n"
     "2\n00:00:05,000 --> 00:00:08,000\nfront lrror is cracked.\n"),
    ("lexicon", "deep.toml", f"a={_DEEP}"),
    ("lexicon", "int.toml", f"a={_MANY}"),
    ("lexicon", "nul.toml", "[parts.x]\nphrases=['\\u0000']\narea='body'\n"),
    ("lexicon", "open.toml", f"[parts.x]\nphrases=['{'~'.join('abcdefghijklm')}']\narea='a'"),
    ("truth", "deep.toml", f"a={_DEEP}"),
    ("truth", "int.toml", f"a={_MANY}"),
    ("truth", "deep.json", _DEEP),
    ("findings", "findings.json", _DEEP),
    ("findings", "findings.json", f'{{"schema":{_MANY}}}'),
    ("decisions", "d.jsonl", _DEEP),
    ("decisions", "d.jsonl", f'{{"kind":"undo","number":{_MANY}}}'),
    ("manifest", "published/manifest.json", _DEEP),
]  # fmt: skip


@pytest.mark.parametrize(
    ("target", "name", "content"),
    [pytest.param(*row, id=f"{row[0]}-{row[1]}-{number}") for number, row in enumerate(FILES)],
)
def test_files_made_to_break_a_reader(target: str, name: str, content: str) -> None:
    assert attempt(TARGETS[target].feed, Seed(name, content.encode())) in ENDED


@pytest.mark.parametrize(
    ("target", "tries"),
    [
        ("captions", 60),
        ("decisions", 40),
        ("truth", 40),
        ("manifest", 20),
        ("template", 8),
        ("findings", 8),
    ],
)
def test_damaged_files(target: str, tries: int) -> None:
    tally = run(target, tries, seed=1)
    assert tally.tries == tries == tally.results + tally.refusals
    assert tally.escaped == {}


@pytest.mark.parametrize("target", ["captions", "lexicon", "truth", "decisions", "findings"])
@settings(max_examples=15, deadline=None)
@given(st.binary(max_size=400), st.sampled_from([".vtt", ".srt", ".json", ".toml", ".txt", ""]))
def test_any_bytes(target: str, content: bytes, ending: str) -> None:
    assert attempt(TARGETS[target].feed, Seed(f"a{ending}", content)) in ENDED


# --- a record with figures that no recording has ------------------------------------------------


def changed(change: Callable[[dict[str, Any]], object]) -> bytes:
    data = nasty_record().to_json()
    data["source"]["has_video"] = False
    change(data)
    return json.dumps(data).encode()


@pytest.mark.parametrize(
    "content",
    [
        changed(lambda d: d["source"].update(duration_s=1e308)),
        changed(lambda d: d["lines"][0].update(end_s=1e308)),
        changed(lambda d: d["source"].update(file_name="a" * 5000, has_video=True)),
        changed(lambda d: d["source"].update(file_name="\ud800", has_video=True)),
        changed(lambda d: d["source"].update(file_name="a\0b", has_video=True)),
        changed(lambda d: d["source"].update(file_name="../../../etc/passwd", has_video=True)),
        changed(lambda d: d["source"].update(sha256="\ud800" * 64)),
        changed(lambda d: d["findings"][0].update(id="../../x", still="../../../etc/passwd")),
        changed(lambda d: d["findings"][0].update(id="\0" * 300)),
        changed(lambda d: d["findings"][0].update(id="\x1b]0;x\x07\u202e")),
        changed(lambda d: d["findings"][0].update(flags=["\x1b]0;x\x07"], heard="\x1b[31m")),
        changed(lambda d: d["findings"][0].update(start_s=-5, end_s=-1)),
        changed(lambda d: d["findings"][0].update(count=10**40, size_mm=1e300)),
        changed(lambda d: d["findings"][0].update(part="../<b>", defect="{{ 7 * 7 }}")),
        changed(lambda d: d["vehicle"].update(year=10**40, hours=1e300, make="\ud800")),
        changed(lambda d: d.update(unmentioned=["<script>", "\ud800", "\x1b]0;x\x07"])),
        changed(lambda d: d["lines"][0].update(reviewed={"a": 1}, said=["x"])),
    ],
    ids=range(17),
)
def test_records_with_odd_figures(content: bytes) -> None:
    assert attempt(TARGETS["findings"].feed, Seed("findings.json", content)) in ENDED


@pytest.mark.parametrize(
    "figure",
    [
        '"at_s": 1e999',
        '"at_s": 1, "size_mm": 1e999',
        '"at_s": -1',
        '"at_s": NaN',
    ],
)
def test_a_refused_decision_leaves_the_review_usable(figure: str, tmp_path: Path) -> None:
    """The decision that cannot be saved must not stop every later sitting."""
    write_record(nasty_record(), tmp_path / "findings.json")
    at_s, _, more = figure.partition(", ")
    finding = f'{{"part": "mirror", "defect": "crack"{f", {more}" if more else ""}}}'
    decisions = tmp_path / "decisions.jsonl"
    decisions.write_text(f'{{"kind": "add", {at_s}, "finding": {finding}}}\n')
    with pytest.raises(ReviewError):
        apply_decisions_file(
            tmp_path,
            decisions,
            who="Ann",
            words=Wordbook(),
        )
    assert read_journal(tmp_path / "journal.jsonl").entries == ()
    assert read_record(tmp_path) == nasty_record()
