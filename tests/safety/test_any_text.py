"""Any text at all, in any script and of any length, is understood or understood as nothing."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from fuzz import Seed, attempt
from hypothesis import given, settings
from hypothesis import strategies as st

from lexicon.load import load_lexicon
from pipeline.models import Line, Statement, Transcript, Word
from pipeline.understand.header import read_header
from pipeline.understand.reading import read_text, understand
from pipeline.understand.tokens import pieces

ENDED = ("result", "refusal")

# Words of the trade between words of any script, marks, numbers and nothing at all.
_TRADE = [
    "dent", "scratch", "tank", "left", "right", "no", "same", "other side", "as I mentioned", "two",
    "inches", "half", "and", "a", "percent of", "sorry", ".", ",", "rust", "fender", "VIN", "heavy",
    "stock number", "2014", "the size of", "dime", "12,430", "1/16", "very",
]  # fmt: skip
_PIECES = st.one_of(
    st.sampled_from(_TRADE),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=8),
    st.integers(0, 10**9).map(str),
)
talks = st.lists(_PIECES, max_size=25).map(" ".join)


@settings(max_examples=150, deadline=None)
@given(talks)
def test_any_talk(said: str) -> None:
    lexicon = load_lexicon("motorcycle")
    for statement in read_text(said, "motorcycle"):
        assert isinstance(statement, Statement)
        assert statement.defect in lexicon.defects
        assert statement.place.part in {*lexicon.parts, "other"}
        assert statement.words
        assert all(word.text in said for word in statement.words)
        assert statement.count is None or statement.count >= 0
        assert 0 <= statement.closeness <= 1


@settings(max_examples=60, deadline=None)
@given(talks)
def test_any_header(said: str) -> None:
    vehicle = read_header(pieces(said), "motorcycle")
    assert vehicle.year is None or 1900 <= vehicle.year < 2100
    assert vehicle.vin is None or len(vehicle.vin) <= 17
    assert (vehicle.vin is None) == (vehicle.vin_valid is None)


def _read(path: Path) -> object:
    return read_text(path.read_bytes().decode("utf-8", "surrogatepass"), "motorcycle")


@pytest.mark.parametrize(
    "said",
    [
        "\0 dent in the tank \0",
        "\u202edent in the tank\u202c",
        "صدأ على الخزان dent in the tank",
        "d" + "\u0301" * 5000 + "ent in the tank",
        "\U0001f3cd\ufe0f dent \U0001f469\u200d\U0001f469\u200d\U0001f467 in the tank",
        "٣ inch dent in the tank ½ inch ² ⅷ",
        "dent in the tank 0/0 inch 1/000 inch",
        "\ud800 dent in the \udfff tank",
        "dent in the tank " + "9" * 400 + " inches long",
        "9" * 400 + " dents in the tank",
        "rust on " + "9" * 400 + " percent of the tank",
        "dent in the tank 1/" + "9" * 5000 + " inch",
    ],
    ids=ascii,
)
def test_odd_talk(said: str) -> None:
    assert attempt(_read, Seed("said.txt", said.encode("utf-8", "surrogatepass"))) in ENDED


def _read_header(path: Path) -> object:
    return read_header(pieces(path.read_text()), "motorcycle")


@pytest.mark.parametrize(
    "said",
    [
        "9" * 5000 + " miles",
        "vin one two three double " * 2000,
        "stock number a one " * 2000,
        "one hours " * 5000,
        "one point " * 3000 + "one miles",
    ],
    ids=lambda said: said[:24],
)
def test_odd_header(said: str) -> None:
    assert attempt(_read_header, Seed("said.txt", said.encode())) in ENDED


# The work must grow with the talk, not with its square: a bound far above what is needed.
@pytest.mark.parametrize(
    "said",
    [
        "There is a dent in the tank. " * 2000,
        "no " * 5000 + "dent in the tank",
        "left sorry " * 5000 + "mirror is cracked",
        " " * 1_000_000 + "dent in the tank",
        "x" * 1_000_000,
        "dent in the tank " * 5000,
        "dent and " * 5000 + "in the tank",
        "dent in the tank " + "one and " * 10_000 + "half inches",
    ],
    ids=lambda said: f"{said[:24].strip() or 'blanks'}-{len(said)}",
)  # fmt: skip
def test_a_megabyte_on_one_line(said: str) -> None:
    assert attempt(_read, Seed("said.txt", said.encode())) in ENDED


def test_ten_thousand_lines() -> None:
    said = ["There is a dent in the left fender.", "The other side is the same.", "No rust here."]
    lines = [
        Line(id=f"L{n:05}", start_s=n, end_s=n + 1, text=text, words=[
            Word(text=word, start_s=n, end_s=n + 1) for word in text.split()])
        for n, text in enumerate(said[n % 3] for n in range(10_000))
    ]  # fmt: skip
    talk = Transcript(origin="webvtt", lines=lines, duration_s=10_000.0)
    assert attempt(lambda _: understand(talk, "motorcycle"), Seed("a", b"")) in ENDED


# --- the command line ---------------------------------------------------------------------------


def wearword(*arguments: str | bytes, folder: Path) -> tuple[int, str]:
    done = subprocess.run(
        [sys.executable, "-m", "pipeline.cli", *arguments],
        capture_output=True,
        check=False,
        env={**os.environ, "HOME": str(folder), "XDG_DATA_HOME": str(folder)},
    )
    return done.returncode, (done.stdout + done.stderr).decode("utf-8", "replace")


@pytest.mark.parametrize("said", [
    b"dent in the \xff tank",
    b"",
    b"the [/foo] is broken [bold] \x1b[31m",
])  # fmt: skip
def test_try_takes_any_argument(said: bytes, tmp_path: Path) -> None:
    status, shown = wearword("try", said, folder=tmp_path)
    assert status == 0
    assert "Traceback" not in shown
    assert "\x1b" not in shown
