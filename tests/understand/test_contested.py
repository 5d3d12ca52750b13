"""Flaws that praise of the part and the words around both speak against: asked, not stated."""

import pytest
from spacy.tokens import Doc
from spacy.vocab import Vocab

from pipeline.models import Place
from pipeline.understand.contested import CONTESTED, contested
from pipeline.understand.said import Clean, Flaw, Said, Target
from pipeline.understand.terms import Item
from pipeline.weigh.flags import REASONS
from tests.understand.talks import clean, pairs, read

TORN = Item(text="torn", role="defect", id="tear", start=0, end=1)


def said(clues: dict[str, float], flawed: Place, praised: Place) -> Said:
    """What is left of a flaw with clues and of praise."""
    doc = Doc(Vocab(), words=["torn"])
    flaw = Flaw(3, TORN, Target(flawed), items=[0], clues=clues)
    doc._.said = Said(flaws=[flaw], clean=[Clean(5, Target(praised), [0])])
    return contested(doc)._.said


@pytest.mark.parametrize("clue", ["untold", "unlinked"])
def test_praise_and_a_hunch_together_take_a_flaw_away(clue: str) -> None:
    left = said({clue: 0.9}, Place(part="seat"), Place(part="seat"))
    assert left.flaws == []
    assert left.contested == [3]
    assert [one.target.place.part for one in left.clean] == ["seat"]


@pytest.mark.parametrize(
    ("clues", "flawed", "praised"),
    [
        ({"untold": 0.2}, Place(part="seat"), Place(part="seat")),
        ({"untold": 0.9}, Place(part="seat"), Place(part="fuel_tank")),
        ({"untold": 0.9}, Place(part="grip", side="left"), Place(part="grip", side="right")),
        (
            {"untold": 0.9},
            Place(part="fender", position="front"),
            Place(part="fender", position="rear"),
        ),
    ],
)
def test_neither_alone_does(clues: dict[str, float], flawed: Place, praised: Place) -> None:
    left = said(clues, flawed, praised)
    assert len(left.flaws) == 1
    assert left.contested == []


def test_a_flaw_found_later_on_a_praised_part_stands() -> None:
    talk = "The tank looks great.", "Oh, and there's a scratch on the tank, two inches."
    assert pairs(*talk) == ["fuel_tank scratch"]
    assert clean(*talk) == ["fuel_tank"]


def test_the_line_is_flagged_with_a_reason() -> None:
    meant = read(
        "The ignition is fine, he gave us two keys and one of them is snapped, but that's the key."
    )
    assert meant.statements == []
    assert meant.line_flags == {"L001": [CONTESTED]}
    assert "called clean" in REASONS[CONTESTED]
