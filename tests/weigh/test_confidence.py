"""The clues by which a finding or a line is sure."""

import pytest

from lexicon.load import load_lexicon
from pipeline.models import Repair, Transcript
from pipeline.understand.reading import understand
from pipeline.weigh.confidence import (
    Clues,
    finding_clues,
    hardness,
    is_heard,
    line_clues,
    names,
    rivals,
    sureness,
)
from tests.weigh.said import transcript

NAMES = names(load_lexicon("motorcycle"))


def of_finding(said: Transcript) -> Clues:
    (statement,) = understand(said, "motorcycle").statements
    return finding_clues(statement, said.lines)


def of_line(text: str, stated: bool = False) -> Clues:
    line = transcript(text).lines[0]
    return line_clues(line, [line.interval] if stated else [], [], NAMES, {})


def repair(read_as: str, probability: float, taken: bool) -> Repair:
    return Repair(
        first=0, end=1, heard="fitting", read_as=read_as, role="defect", id=read_as,
        probability=probability, distance=0.1, margin=None, taken=taken,
    )  # fmt: skip


def test_doubt_is_that_of_the_words_that_say_something() -> None:
    sure = of_finding(transcript("There is a dent in the fuel tank."))
    doubted = of_finding(transcript("There is a dent? in the fuel tank."))
    only_talk = of_finding(transcript("There? is a dent in the fuel tank."))
    assert sure["worst"] == pytest.approx(0.1)
    assert doubted["worst"] == pytest.approx(0.8)
    of_every_word = ("worst_beside", "part_slot")  # on purpose: see the next test, and hunches
    assert only_talk | {clue: sure[clue] for clue in of_every_word} == sure


def test_a_doubt_of_any_word_of_the_line_counts_too() -> None:
    sure = of_finding(transcript("There is a dent in the fuel tank."))
    only_talk = of_finding(transcript("There? is a dent in the fuel tank."))
    assert sure["worst_beside"] == pytest.approx(0.1)
    assert only_talk["worst_beside"] == pytest.approx(0.8)


def test_a_part_named_earlier_is_inherited() -> None:
    said = transcript("Now the fuel tank.", "It has a dent.")
    assert of_finding(said)["inherited"] == 1.0
    assert "inherited" not in of_finding(transcript("The fuel tank has a dent."))


def test_words_that_nobody_says_in_such_a_row_are_unlikely() -> None:
    usual = of_finding(transcript("There is a dent in the fuel tank."))
    strange = of_finding(transcript("There is a dent in the fuel bank tank."))
    assert strange["unlikely"] > usual["unlikely"]
    assert "unlikely" not in of_line("The mirror is in good shape.")
    assert of_line("The mirror is in cornbread.")["unlikely"] == 0.5
    assert "unlikely" not in of_line("The mirror is in cornbread.", stated=True)


def test_captions_say_nothing_of_doubt() -> None:
    said = transcript("The fuel tank has a dent.", sure=None)
    assert not is_heard(said)
    assert "doubt" not in of_finding(said)
    assert hardness(said) == {"hard": 0.0}
    assert hardness(transcript("one? two")) == {"hard": 0.45}


@pytest.mark.parametrize(
    ("text", "clue"),
    [
        ("and some pitting there", "stray_flaw"),
        ("that is the swingarm", "stray_part"),
        ("about two inches of it", "stray_size"),
        ("no it has not", "denial"),
    ],
)
def test_what_a_line_leaves_over(text: str, clue: str) -> None:
    assert of_line(text)[clue] > 0
    assert clue not in of_line("so here we are then")


def test_words_of_a_stated_flaw_are_not_left_over() -> None:
    assert of_line("and some pitting there", stated=True) == {"stated": 1.0}


def test_rivals_mean_something_else_than_what_was_taken() -> None:
    taken = repair("pitting", 0.7, True)
    same, other = repair("pitting", 0.3, False), repair("fading", 0.2, False)
    assert rivals([taken, same, other]) == [other]


def test_sureness_is_a_probability_for_both() -> None:
    for of in ("finding", "line"):
        for heard in (True, False):
            assert 0.5 < sureness(of, {}, heard) < 1.0
