"""scripts/baseline.py: a plain program, but an honest one."""

import pytest
from baseline import read

from pipeline.models import Line, Record, Transcript, Word


def record(*sentences: str, probability: float | None = None) -> Record:
    """The baseline's record of sentences said a second a word."""
    lines, at_s = [], 0.0
    for number, sentence in enumerate(sentences, 1):
        words = [
            Word(text=text, start_s=at_s + i, end_s=at_s + i + 1, probability=probability)
            for i, text in enumerate(sentence.split())
        ]
        lines.append(
            Line(
                id=f"L{number:03}",
                start_s=at_s,
                end_s=at_s + len(words),
                text=sentence,
                words=words,
            )
        )
        at_s += len(words) + 1
    heard = Transcript(origin="plain_text", lines=lines, duration_s=at_s)
    return read(heard, "motorcycle", "clip.ogg")


@pytest.mark.parametrize(
    ("sentence", "expected"),
    [
        ("The tank has a dent.", [("fuel_tank", None, None, "dent", 3)]),
        ("A light scratch on the left mirror.", [("mirror", None, "left", "scratch", 2)]),
        ("The front fender is chipped.", [("fender", "front", None, "chip", 3)]),
        ("The sadlebag is chipped.", [("saddlebag", None, None, "chip", 3)]),
        ("The tank was repainted.", [("fuel_tank", None, None, "repaint", None)]),
        (
            "The tank has a dent and the seat is torn.",
            [("fuel_tank", None, None, "dent", 3), ("seat", None, None, "tear", 3)],
        ),
        ("There is surface rust on the kickstand.", [("kickstand", None, None, "rust", 3)]),
        ("It has a scratch.", []),
        ("It rained this morning.", []),
    ],
)
def test_the_nearest_part_has_the_flaw(sentence: str, expected: list[object]) -> None:
    found = record(sentence).findings
    assert [(f.part, f.position, f.side, f.defect, f.severity) for f in found] == expected


def test_a_flaw_denied_makes_a_clean_part() -> None:
    found = record("No scratches on the left saddlebag.")
    assert found.findings == []
    assert [(part.part, part.side) for part in found.clean] == [("saddlebag", "left")]


def test_the_same_again_is_a_mention() -> None:
    found = record("The tank has a dent.", "Here is the dent in the tank.").findings
    assert [len(finding.mentions) for finding in found] == [1]
    assert found[0].start_s == 1.0
    assert found[0].mentions[0].start_s == 9.0


def test_confidence_is_the_least_sure_word_of_the_two() -> None:
    assert record("The tank has a dent.", probability=0.8).findings[0].confidence == 0.8
    assert record("The tank has a dent.", probability=0.3).findings[0].status == "flagged"
    assert record("The tank has a dent.").findings[0].confidence == 1.0
