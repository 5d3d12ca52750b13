"""What fills a pause says nothing; what is said is heard whole all the same."""

import pytest

from pipeline.understand.fluency import fluent
from pipeline.understand.tokens import pieces
from tests.understand.talks import flaws, read


@pytest.mark.parametrize(
    ("said", "left"),
    [
        ("the, uh, left one", "the left one"),
        ("it's, uh, dented", "it's dented"),
        ("has uh, a dent", "has a dent"),
        ("it's like, a foot long", "it's a foot long"),
        ("this, uh, this left side", "this left side"),
        ("the, the floorboard", "the floorboard"),
        ("it has, you know, a dent", "it has a dent"),
        # After a content word a pause may end a thing, and may take it back.
        ("scratches, you know, and dents", "scratches , and dents"),
        ("the engine, uh, the clutch cover", "the engine , uh , the clutch cover"),
        ("it looks like a dent", "it looks like a dent"),
        ("you know the tank", "you know the tank"),
        ("", ""),
    ],
)
def test_what_is_left(said: str, left: str) -> None:
    cut = pieces(said)
    assert " ".join(cut[i] for i in fluent([word.lower() for word in cut])) == left


@pytest.mark.parametrize(
    "sentence",
    [
        "The, uh, left mirror has, um, a crack.",
        "The left um mirror is uh cracked.",
        "The left mirror is like, cracked.",
        "The the left mirror is cracked.",
    ],
)
def test_pauses_change_nothing(sentence: str) -> None:
    assert flaws(sentence) == [("left", None, "mirror", "crack")]


def test_the_phrase_is_heard_with_its_pauses() -> None:
    (statement,) = read("A dent in, uh, the tank.").statements
    assert statement.heard == "dent in, uh, the tank."
