"""What the words alone suggest, beside what the rules make of them."""

import pytest
from spacy.tokens import Doc

from lexicon.load import load_lexicon
from pipeline.understand.hunches import is_of, slots, speaks, tells, unusual
from pipeline.understand.nlp import read_lines
from pipeline.understand.terms import Item
from tests.understand.talks import read, talk
from tests.weigh.said import transcript


def row_of(sentence: str) -> list[Item]:
    (row,) = read_lines(talk(sentence).lines, load_lexicon("motorcycle"), None)._.items
    return row


def doc_of(sentence: str) -> Doc:
    """A sentence as a recogniser heard it: a word that ends in "?" in doubt."""
    return read_lines(transcript(sentence).lines, load_lexicon("motorcycle"), None)


def at(row: list[Item], text: str) -> int:
    return next(i for i, item in enumerate(row) if item.text == text)


@pytest.mark.parametrize(
    ("sentence", "told"),
    [
        ("The fuel tank has a dent in it.", True),
        ("Dent, tank.", True),
        ("No dents in the fuel tank.", False),
        ("The tank is free of dents.", False),
    ],
)
def test_a_flaw_told_looks_likelier_than_one_denied(sentence: str, told: bool) -> None:
    row = row_of(sentence)
    (flaw,) = (i for i, item in enumerate(row) if item.role == "defect")
    assert (tells(row, flaw) > 0.5) is told
    assert (speaks(row) > 0.5) is told


def test_talk_of_other_things_tells_no_flaw() -> None:
    assert speaks(row_of("I rode it down to the lake yesterday.")) < 0.1


def test_a_flaw_goes_with_the_part_that_its_words_lead_to() -> None:
    row = row_of("The mirror is chipped and there is rust on the tank.")
    mirror, tank, chipped, rust = (at(row, text) for text in ("mirror", "tank", "chipped", "rust"))
    assert is_of(row, chipped, mirror) > 0.5 > is_of(row, chipped, tank)
    assert is_of(row, rust, tank) > 0.8 > is_of(row, rust, mirror)


def test_a_flaw_may_be_of_a_part_named_before() -> None:
    alone, named = row_of("It's got a dent in it too."), row_of("The tank has a dent in it too.")
    assert is_of(alone, at(alone, "dent"), None) > 0.5 > is_of(named, at(named, "dent"), None)


def test_a_shops_own_spelling_counts_as_any_part() -> None:
    saddlebag, bag = row_of("The saddlebag has a dent."), row_of("The pannier has a dent.")
    assert tells(saddlebag, at(saddlebag, "dent")) == pytest.approx(tells(bag, at(bag, "dent")))


def test_what_the_rules_read_carries_what_speaks_against_it() -> None:
    (plain,) = read("The fuel tank has a dent in it.").statements
    assert plain.clues["untold"] < 0.05
    assert plain.clues["unlinked"] < 0.05


def test_a_line_tells_what_the_rules_left_in_it() -> None:
    understanding = read("The tank is good.", "No dents in the tank.", "The seat has a tear.")
    good, denied, told = understanding.line_clues.values()
    assert good["unstated"] == 0.0
    assert 0.0 < denied["unstated"] < 0.1
    assert "telling" in denied
    assert "telling" not in told


def test_a_flaw_rarely_told_of_its_part_is_unusual() -> None:
    assert unusual("seat", "tear") < 0.2 < unusual("seat", "chip") <= 1
    assert unusual("mirror", "worn_through") == unusual("a part of a shop's own", "dent") == 1


def test_every_flaw_carries_how_unusual_it_is() -> None:
    talk = read("The seat is torn.", "The backrest has a chip and so does the mirror.")
    assert [s.clues["unusual"] for s in talk.statements] == [
        unusual("seat", "tear"), unusual("backrest", "chip"), unusual("mirror", "chip"),
    ]  # fmt: skip


def lost(sentence: str, doubt: float = 0.0, doubted: str = "") -> dict[str, float]:
    """The slots of a sentence, of which one word, or none, was hardly heard."""
    row = row_of(sentence)
    return slots(row, [doubt if item.text == doubted else 0.0 for item in row])


def test_an_unheard_of_word_in_a_flaws_place_stands_out() -> None:
    garbled = lost("The fuel tank has a couple of blorbs on the left side.")
    elsewhere = lost("Old Blorb sold it to me and moved to the lake.")
    assert garbled["flaw_slot"] > 0.5 > garbled["part_slot"]
    assert elsewhere["flaw_slot"] < 0.2


def test_an_ordinary_word_in_a_flaws_place_stands_out_by_how_doubtful_it_is() -> None:
    said = "The fuel tank has a couple of then on the left side."
    strange = lost("The fuel tank has a couple of blorbs on the left side.")
    doubted = lost(said, 0.5, "then")["flaw_slot"]
    assert doubted == pytest.approx(strange["flaw_slot"] / 2, rel=0.1)
    assert lost(said, 0.5, "has")["flaw_slot"] < doubted / 2


def test_words_that_are_known_and_sure_are_in_no_place_of_another() -> None:
    assert lost("The fuel tank has a dent in it.") == {}
    assert lost("The fuel tank has a dent in it.", 1.0, "dent") == {}


def test_the_recognisers_doubt_of_a_word_reaches_the_line() -> None:
    doubted = doc_of("The fuel tank has a couple of then? on the left side.")
    sure = doc_of("The fuel tank has a couple of then on the left side.")
    assert doubted._.hunches[0]["flaw_slot"] > 3 * sure._.hunches[0]["flaw_slot"]
