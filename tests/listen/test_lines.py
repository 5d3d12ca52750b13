"""Word times, lines, and the detectors of text that nobody spoke."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.listen.lines import (
    UNHEARD_TEXT,
    build_lines,
    flag_lines,
    numbered,
    repair_times,
    sentences,
    uncovered,
)
from pipeline.models import Line, Word
from pipeline.times import Interval


def said(
    text: str, start_s: float = 0.0, word_s: float = 0.4, probability: float = 0.9
) -> list[Word]:
    return [
        Word(
            text=word,
            start_s=start_s + i * word_s,
            end_s=start_s + (i + 1) * word_s,
            probability=probability,
        )
        for i, word in enumerate(text.split())
    ]


def span(start_s: float, end_s: float) -> Interval:
    return Interval(start_s=start_s, end_s=end_s)


# --- word times ---------------------------------------------------------------------------------

REPAIRS = {
    "good times stay": ((1.6, 2.0), (1.6, 2.0), False),
    "first word stretched back over the pause": ((1.9, 5.4), (4.9, 5.4), True),
    "last word stretched on over the pause": ((1.5, 4.0), (1.5, 2.1), True),
    "zero length": ((1.5, 1.5), (1.5, 1.54), True),
    "end before start": ((1.6, 1.2), (1.6, 1.64), True),
}
VOICED = [span(1.0, 2.0), span(5.0, 6.0)]


@pytest.mark.parametrize(("given_s", "wanted_s", "marked"), REPAIRS.values(), ids=REPAIRS)
def test_repaired_times(
    given_s: tuple[float, float], wanted_s: tuple[float, float], marked: bool
) -> None:
    before = Word(text="the", start_s=0.9, end_s=1.5)
    word = Word(text="fender", start_s=given_s[0], end_s=given_s[1])

    _, repaired = repair_times([before, word], VOICED)

    assert (repaired.start_s, repaired.end_s) == pytest.approx(wanted_s, abs=1e-6)
    assert repaired.repaired_time is marked


times = st.floats(min_value=0, max_value=60, allow_nan=False)


@given(
    spans=st.lists(st.tuples(times, times), max_size=12),
    edges=st.lists(times, max_size=8, unique=True).map(sorted),
)
def test_repaired_times_rise_and_are_bounded(
    spans: list[tuple[float, float]], edges: list[float]
) -> None:
    words = [Word(text="seat", start_s=start, end_s=end) for start, end in spans]

    repaired = repair_times(words, list(map(span, edges[::2], edges[1::2])))

    assert [word.text for word in repaired] == [word.text for word in words]
    assert all(0 < word.end_s - word.start_s < 1.0 for word in repaired)
    assert all(after.start_s >= before.end_s for before, after in pairwise(repaired))


def test_uncovered_speech_is_what_no_word_covers() -> None:
    words = [*said("one two", 1.0), *said("three", 7.0)]

    gaps = uncovered([span(1.0, 2.0), span(3.0, 5.0), span(6.0, 7.5)], words, 0.75)

    assert gaps == [span(3.0, 5.0), span(6.0, 6.8)]


# --- lines --------------------------------------------------------------------------------------


def test_lines_are_cut_at_pauses_then_at_sentence_ends() -> None:
    words = [*said("The tank is fine. It has one"), *said("chip near the cap.", 6.0)]

    lines = build_lines(words)

    assert [(line.id, line.text) for line in lines] == [
        ("L001", "The tank is fine."),
        ("L002", "It has one"),
        ("L003", "chip near the cap."),
    ]
    assert (lines[2].start_s, lines[2].end_s) == (6.0, 7.6)


def test_a_long_stretch_without_punctuation_is_halved_at_its_longest_pause() -> None:
    words = [*said("scratch " * 20, 0.0, 0.5), *said("dent " * 20, 10.4, 0.5)]

    lines = build_lines(words)

    assert [line.text.split()[0] for line in lines] == ["scratch", "dent"]
    assert all(line.end_s - line.start_s <= 15.0 for line in lines)


def test_unheard_speech_stands_in_its_place_in_time() -> None:
    lines = build_lines([*said("Up front."), *said("The seat.", 8.0)], [span(3.0, 5.0)])

    assert [line.text for line in lines] == ["Up front.", UNHEARD_TEXT, "The seat."]
    assert lines[1].status == "unheard"
    assert lines[1].flags == ["speech_not_transcribed"]
    assert lines[1].words == []


@given(st.lists(st.sampled_from(["seat", "torn.", "it's", "1.5", "rust,"]), max_size=150))
def test_lines_keep_every_word_once_and_in_order(texts: list[str]) -> None:
    words = said(" ".join(texts))

    lines = build_lines(words)

    assert [word for line in lines for word in line.words] == words
    assert [line.id for line in lines] == [f"L{n:03}" for n in range(1, len(lines) + 1)]


def test_sentences_end_at_marks_and_not_within_numbers() -> None:
    cut = sentences(said('A 1.5 inch chip. "Is it deep?" No!'))

    assert [" ".join(word.text for word in group) for group in cut] == [
        "A 1.5 inch chip.",
        '"Is it deep?"',
        "No!",
    ]


# --- what nobody spoke --------------------------------------------------------------------------

HOTWORDS = ("front fender", "saddlebag", "kickstand", "chrome pitting", "fork seal")
FLAGGED = {
    "plain talk": (said("There is a small scratch on the tank."), [], "heard"),
    "a loop of one word": (said("rust rust rust rust rust"), ["repetition_loop"], "unheard"),
    "a loop of a phrase": (
        said("on the seat on the seat on the seat on the seat"),
        ["repetition_loop"],
        "unheard",
    ),
    "twice is emphasis": (said("It is really really clean."), [], "heard"),
    "digits repeat by nature": (said("VIN 1 1 1 1 1 1 1 1 1 1"), [], "heard"),
    "spelling words run fast": (
        said("alpha bravo two two four seven november kilo", word_s=0.13),
        [],
        "heard",
    ),
    "6 words a second": (
        said("the windshield and mirrors and both grips are clean today", word_s=1 / 6),
        [],
        "heard",
    ),
    "6 words a second for 2 s": (
        said(
            "the windshield and mirrors and both grips and levers look clean and new today",
            word_s=1 / 6,
        ),
        [],
        "heard",
    ),
    "8 words a second": (
        said("the fork seal looks dry today", word_s=1 / 8),
        ["impossible_rate"],
        "unheard",
    ),
    "foreign script": (said("Спасибо за просмотр"), ["foreign_script"], "unheard"),
    "accents are no foreign script": (said("The coupé décor is torn"), [], "heard"),
    "spoken sign-off": (said("Thanks for watching."), [], "heard"),
    "doubtful sign-off": (
        said("Thanks for watching.", probability=0.2),
        ["stock_phrase", "low_probability"],
        "unheard",
    ),
    "sign-off over silence": (
        said("Please subscribe.", start_s=50.0),
        ["no_voice", "stock_phrase"],
        "unheard",
    ),
    "words over silence": (said("The seat is torn.", start_s=50.0), ["no_voice"], "unheard"),
    "low probability": (said("the fork zeal", probability=0.3), ["low_probability"], "doubtful"),
    "hot words in prompt order": (
        said("Saddlebag, kickstand, chrome pitting, fork seal."),
        ["hotword_echo"],
        "doubtful",
    ),
    "hot words in a sentence": (
        said("The saddlebag has chrome pitting and the fork seal leaks."),
        [],
        "heard",
    ),
}


@pytest.mark.parametrize(("words", "flags", "status"), FLAGGED.values(), ids=FLAGGED)
def test_flags_and_status(words: list[Word], flags: list[str], status: str) -> None:
    line = flag_lines(build_lines(words), [span(0.0, 20.0)], HOTWORDS)[0]

    assert line.flags == flags
    assert line.status == status


@pytest.mark.published
@pytest.mark.parametrize("pace_wps", [1.5, 2.35, 2.42, 3.0, 3.8])
def test_published_paces_of_speech_are_believed(pace_wps: float) -> None:
    """From slow talk to bursts in live television: Wingfield 2006, Jensema 1996 and 1998, BBC."""
    words = said(
        "the rear fender has a light scuff near the seam and the rest of it is clean",
        word_s=1 / pace_wps,
    )

    assert flag_lines(build_lines(words))[0].flags == []


def test_coarse_clocks_make_nobody_talk_too_fast() -> None:
    line = build_lines(said("the fork seal looks dry and clean", word_s=1 / 7.5))

    assert flag_lines(line)[0].flags == ["impossible_rate"]
    assert flag_lines(line, clock_step_s=1.0)[0].flags == []


def test_unheard_lines_are_left_as_they_are() -> None:
    line = Line(id="L001", start_s=0, end_s=1, text="x", status="unheard", flags=["no_voice"])

    assert flag_lines([line], []) == [line]


def test_numbering_follows_time() -> None:
    lines = [
        Line(id="", start_s=start, end_s=start + 1, text=str(start)) for start in (5.0, 1.0, 3.0)
    ]

    assert [(line.id, line.start_s) for line in numbered(lines)] == [
        ("L001", 1.0),
        ("L002", 3.0),
        ("L003", 5.0),
    ]
